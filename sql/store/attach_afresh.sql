-- A new database file beside the one that is open. Binds $path. No rows.
attach $path as afresh;
