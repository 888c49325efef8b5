-- Keep malformed records, from the frame rejected (line, reason, found, fields). Grain: one row per record.
-- Binds $file_id.
insert into loads.set_aside
select $file_id, line, 1, reason, null, found, fields from rejected;
