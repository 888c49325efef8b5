-- Note a load that begins. Grain: one row.
-- Binds $load_id, $started_at, $program_version.
insert into loads.loads by name
select $load_id as load_id, $started_at as started_at, null as finished_at, $program_version as program_version;
