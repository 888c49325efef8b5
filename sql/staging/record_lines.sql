-- record_lines: physical line (1-based) on which each record of the file begins, where that is not simply one after
-- the other. Grain: one row per record, or none. Columns: nth (1-based), line.
create or replace temp table record_lines (nth bigint, line bigint);
