-- Take a technician out of the records, and of the rows that were replaced; the calls and visits stay, without who made
-- them. Binds $id. No rows.
update records.calls set technician_id = null where technician_id = $id;
update records.visits set technician_id = null where technician_id = $id;
update records.visits set helper_id = null where helper_id = $id;
delete from records.technicians where technician_id = $id;
update replaced.calls set technician_id = null where technician_id = $id;
update replaced.visits set technician_id = null where technician_id = $id;
update replaced.visits set helper_id = null where helper_id = $id;
delete from replaced.technicians where technician_id = $id;
