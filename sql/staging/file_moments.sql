-- The latest moments in the staged file. Grain: one row.
-- Columns: dated_rows; latest (up to two latest moments of rows without a reason, latest first).
select
    count(moment) filter (where reasons is null) as dated_rows,
    max(moment, 2) filter (where reasons is null) as latest
from staged;
