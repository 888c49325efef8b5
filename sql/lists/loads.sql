-- Loads, latest first, with their files' rows added up.
select
    loads.load_id,
    loads.started_at,
    loads.finished_at,
    count(files.file_id) as files,
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
