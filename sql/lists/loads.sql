-- Loads, latest first, with their files' rows added up; files_taken_back: its files that were taken back since;
-- takes_back: the files that it took back itself. Files that were taken back are in no other column.
select
    loads.load_id,
    loads.started_at,
    loads.finished_at,
    count(files.file_id) as files,
    (select count(*) from loads.taken_back where taken_back.load_id = loads.load_id) as files_taken_back,
    (select count(*) from loads.taken_back where taken_back.taken_back_by = loads.load_id) as takes_back,
    coalesce(sum(files."rows"), 0)::bigint as "rows",
    coalesce(sum(files.loaded), 0)::bigint as loaded,
    coalesce(sum(files.updated), 0)::bigint as updated,
    coalesce(sum(files.repeated_exact + files.repeated_older), 0)::bigint as repeated,
    coalesce(sum(files.set_aside), 0)::bigint as set_aside,
    coalesce(sum(files.withdrawn), 0)::bigint as withdrawn
from loads.loads
left join loads.files on files.load_id = loads.load_id
group by loads.load_id, loads.started_at, loads.finished_at
order by loads.load_id desc;
