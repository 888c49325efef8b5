-- Take a household out of the records, and of the rows that were replaced: its number, and what was written down at its calls. Binds $id. No rows.
update records.calls set notes = null, household_id = null where household_id = $id;
update records.units set household_id = null where household_id = $id;
update replaced.calls set notes = null, household_id = null where household_id = $id;
update replaced.units set household_id = null where household_id = $id;
