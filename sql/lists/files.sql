-- Files of one load, or of all where $load_id is null; latest first. Columns of loads.files without the mapping.
select * exclude (mapping), repeated_exact + repeated_older as repeated
from loads.files
where $load_id::integer is null or load_id = $load_id::integer
order by file_id desc;
