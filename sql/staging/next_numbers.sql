-- The next free load_id and file_id; numbers of files that were taken back are not given again. Grain: one row.
select
    (select coalesce(max(load_id), 0) + 1 from loads.loads) as load_id,
    greatest(
        (select coalesce(max(file_id), 0) from loads.files),
        (select coalesce(max(file_id), 0) from loads.taken_back)
    ) + 1 as file_id;
