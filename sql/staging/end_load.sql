-- Note when a load finished.
update loads.loads set finished_at = $finished_at where load_id = $load_id;
