-- Files that stand, oldest first. Grain: one row per file. Columns: file_id, load_id, file_name, table_name, source,
-- "rows", full_extract, met (it met rows of its table that were known before it, so that what became of its own rows
-- hangs on them), mends (files whose set-aside rows it mended).
select
    file_id, load_id, file_name, table_name, source, "rows", full_extract,
    full_extract or updated + repeated_exact + repeated_older > 0 or file_id in (
        select set_aside.file_id from loads.set_aside where reason in ('newer_unknown', 'other_source')
    ) as met,
    coalesce(
        (select list(distinct mended.file_id) from loads.mended where mended.mended_by = files.file_id), []
    ) as mends
from loads.files
order by file_id;
