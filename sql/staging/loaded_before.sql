-- The newest loading of a file in one way of reading it, if any. Grain: at most one row. Columns: loads.files.
-- Binds $sha256, $reading_hash.
select *
from loads.files
where sha256 = $sha256 and reading_hash = $reading_hash
order by file_id desc
limit 1;
