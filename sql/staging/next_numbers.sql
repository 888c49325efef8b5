-- The next free load_id and file_id. Grain: one row.
select
    (select coalesce(max(load_id), 0) + 1 from loads.loads) as load_id,
    (select coalesce(max(file_id), 0) + 1 from loads.files) as file_id;
