-- Rows that were set aside and not mended since, with all their reasons. Grain: one row per file, line and reason, in their order.
-- $file_id null: of all files. Columns: loads.set_aside, and the file's name and header.
select set_aside.*, files.file_name, files.header
from loads.set_aside join loads.files using (file_id)
where ($file_id is null or file_id = $file_id)
    and (file_id, line) not in (select (file_id, line) from loads.mended)
order by file_id, line, rank;
