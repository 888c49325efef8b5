-- Put back the rows that a file replaced, and those that it withdrew as a full extract; verdicts then holds where the
-- former stand (stored_row). Grain: one row per record.
-- Binds $table, $file_id, $load_id, $source, $full_extract.
insert into records.calls select * exclude (replaced_by) from replaced.calls where $table = 'calls' and replaced_by = $file_id;
insert into verdicts
select null, line, 'updated', rowid, false
from records.calls
where $table = 'calls' and (file_id, line) in (select (file_id, line) from replaced.calls where replaced_by = $file_id);
delete from replaced.calls where $table = 'calls' and replaced_by = $file_id;
update records.calls set withdrawn_by = null
where $full_extract and $table = 'calls' and withdrawn_by = $load_id and source = $source;
insert into records.visits select * exclude (replaced_by) from replaced.visits where $table = 'visits' and replaced_by = $file_id;
insert into verdicts
select null, line, 'updated', rowid, false
from records.visits
where $table = 'visits' and (file_id, line) in (select (file_id, line) from replaced.visits where replaced_by = $file_id);
delete from replaced.visits where $table = 'visits' and replaced_by = $file_id;
update records.visits set withdrawn_by = null
where $full_extract and $table = 'visits' and withdrawn_by = $load_id and source = $source;
insert into records.checks select * exclude (replaced_by) from replaced.checks where $table = 'checks' and replaced_by = $file_id;
insert into verdicts
select null, line, 'updated', rowid, false
from records.checks
where $table = 'checks' and (file_id, line) in (select (file_id, line) from replaced.checks where replaced_by = $file_id);
delete from replaced.checks where $table = 'checks' and replaced_by = $file_id;
update records.checks set withdrawn_by = null
where $full_extract and $table = 'checks' and withdrawn_by = $load_id and source = $source;
insert into records.parts select * exclude (replaced_by) from replaced.parts where $table = 'parts' and replaced_by = $file_id;
insert into verdicts
select null, line, 'updated', rowid, false
from records.parts
where $table = 'parts' and (file_id, line) in (select (file_id, line) from replaced.parts where replaced_by = $file_id);
delete from replaced.parts where $table = 'parts' and replaced_by = $file_id;
update records.parts set withdrawn_by = null
where $full_extract and $table = 'parts' and withdrawn_by = $load_id and source = $source;
insert into records.units select * exclude (replaced_by) from replaced.units where $table = 'units' and replaced_by = $file_id;
insert into verdicts
select null, line, 'updated', rowid, false
from records.units
where $table = 'units' and (file_id, line) in (select (file_id, line) from replaced.units where replaced_by = $file_id);
delete from replaced.units where $table = 'units' and replaced_by = $file_id;
update records.units set withdrawn_by = null
where $full_extract and $table = 'units' and withdrawn_by = $load_id and source = $source;
insert into records.filter_changes select * exclude (replaced_by) from replaced.filter_changes where $table = 'filter_changes' and replaced_by = $file_id;
insert into verdicts
select null, line, 'updated', rowid, false
from records.filter_changes
where $table = 'filter_changes' and (file_id, line) in (select (file_id, line) from replaced.filter_changes where replaced_by = $file_id);
delete from replaced.filter_changes where $table = 'filter_changes' and replaced_by = $file_id;
update records.filter_changes set withdrawn_by = null
where $full_extract and $table = 'filter_changes' and withdrawn_by = $load_id and source = $source;
insert into records.technicians select * exclude (replaced_by) from replaced.technicians where $table = 'technicians' and replaced_by = $file_id;
insert into verdicts
select null, line, 'updated', rowid, false
from records.technicians
where $table = 'technicians' and (file_id, line) in (select (file_id, line) from replaced.technicians where replaced_by = $file_id);
delete from replaced.technicians where $table = 'technicians' and replaced_by = $file_id;
update records.technicians set withdrawn_by = null
where $full_extract and $table = 'technicians' and withdrawn_by = $load_id and source = $source;
insert into records.follow_ups select * exclude (replaced_by) from replaced.follow_ups where $table = 'follow_ups' and replaced_by = $file_id;
insert into verdicts
select null, line, 'updated', rowid, false
from records.follow_ups
where $table = 'follow_ups' and (file_id, line) in (select (file_id, line) from replaced.follow_ups where replaced_by = $file_id);
delete from replaced.follow_ups where $table = 'follow_ups' and replaced_by = $file_id;
update records.follow_ups set withdrawn_by = null
where $full_extract and $table = 'follow_ups' and withdrawn_by = $load_id and source = $source;
