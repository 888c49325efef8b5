-- The generation to be copied, and the new file it is copied into. Binds $generation, $path. No rows.
attach $generation as old (read_only);
attach $path as afresh;
