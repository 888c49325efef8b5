-- How many rows are set aside and not mended since; $file_id null: of all files; $reason null: for whatever reason.
-- One row: rows.
select count(*) as "rows"
from loads.set_aside
where rank = 1
    and ($file_id::integer is null or file_id = $file_id::integer)
    and ($reason::varchar is null or reason = $reason::varchar)
    and (file_id, line) not in (select (file_id, line) from loads.mended);
