-- Note when a load finished.
-- Grain: one row.
-- Binds $finished_at, $load_id.
update loads.loads set finished_at = $finished_at where load_id = $load_id;
