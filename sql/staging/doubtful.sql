-- doubtful: rows of the staged file, without a reason of their own, that what else is known speaks against.
-- (A list in a table can not be changed in place without moving its row, so these reasons stand apart.)
-- Grain: one row per such row. Columns: nth (its number in the file, 1-based), reason, column_name, found.
create or replace temp table doubtful (nth bigint, reason varchar, column_name varchar, found varchar);
