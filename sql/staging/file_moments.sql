-- The latest moments in the staged file. Grain: one row.
-- Columns: dated_rows; latest (up to two latest moments of rows that nothing speaks against, latest first).
select count(moment) as dated_rows, max(moment, 2) as latest
from staged
where reasons is null and rowid + 1 not in (select nth from doubtful);
