-- How many rows are set aside; $file_id null: of all files. One row: rows.
select count(*) as "rows"
from loads.set_aside
where rank = 1 and ($file_id::integer is null or file_id = $file_id::integer);
