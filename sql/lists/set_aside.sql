-- A page of rows set aside and not mended since, one row per row of a file, by its first reason; $file_id null: of all
-- files; $reason null: for whatever reason.
select
    set_aside.file_id,
    files.file_name,
    files.table_name,
    set_aside.line,
    set_aside.reason,
    set_aside.column_name,
    set_aside.found,
    set_aside.fields,
    files.header
from loads.set_aside
left join loads.files on files.file_id = set_aside.file_id
where set_aside.rank = 1
    and ($file_id::integer is null or set_aside.file_id = $file_id::integer)
    and ($reason::varchar is null or set_aside.reason = $reason::varchar)
    and (set_aside.file_id, set_aside.line) not in (select (file_id, line) from loads.mended)
order by set_aside.file_id desc, set_aside.line
limit $limit offset $offset;
