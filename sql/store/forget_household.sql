-- Take a household out of the records: its number, and what was written down at its calls. Binds $id. No rows.
update records.calls set notes = null, household_id = null where household_id = $id;
update records.units set household_id = null where household_id = $id;
