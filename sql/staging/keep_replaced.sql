-- Keep what the staged file is about to change in known rows, so that it can be taken back. Grain: one row per known
-- row: whole where a row takes its place, its place alone where the file has it unchanged.
-- Binds $table, $file_id.
insert into replaced.calls
select *, $file_id from records.calls
where $table = 'calls' and rowid in (select stored_row from verdicts where verdict = 'updated');
insert into replaced.visits
select *, $file_id from records.visits
where $table = 'visits' and rowid in (select stored_row from verdicts where verdict = 'updated');
insert into replaced.checks
select *, $file_id from records.checks
where $table = 'checks' and rowid in (select stored_row from verdicts where verdict = 'updated');
insert into replaced.parts
select *, $file_id from records.parts
where $table = 'parts' and rowid in (select stored_row from verdicts where verdict = 'updated');
insert into replaced.units
select *, $file_id from records.units
where $table = 'units' and rowid in (select stored_row from verdicts where verdict = 'updated');
insert into replaced.filter_changes
select *, $file_id from records.filter_changes
where $table = 'filter_changes' and rowid in (select stored_row from verdicts where verdict = 'updated');
insert into replaced.technicians
select *, $file_id from records.technicians
where $table = 'technicians' and rowid in (select stored_row from verdicts where verdict = 'updated');
insert into replaced.follow_ups
select *, $file_id from records.follow_ups
where $table = 'follow_ups' and rowid in (select stored_row from verdicts where verdict = 'updated');
insert into replaced.places
select $table, $file_id, v.line, r.file_id, r.line
from records.calls r join verdicts v on r.rowid = v.stored_row where $table = 'calls' and v.confirms;
insert into replaced.places
select $table, $file_id, v.line, r.file_id, r.line
from records.visits r join verdicts v on r.rowid = v.stored_row where $table = 'visits' and v.confirms;
insert into replaced.places
select $table, $file_id, v.line, r.file_id, r.line
from records.checks r join verdicts v on r.rowid = v.stored_row where $table = 'checks' and v.confirms;
insert into replaced.places
select $table, $file_id, v.line, r.file_id, r.line
from records.parts r join verdicts v on r.rowid = v.stored_row where $table = 'parts' and v.confirms;
insert into replaced.places
select $table, $file_id, v.line, r.file_id, r.line
from records.units r join verdicts v on r.rowid = v.stored_row where $table = 'units' and v.confirms;
insert into replaced.places
select $table, $file_id, v.line, r.file_id, r.line
from records.filter_changes r join verdicts v on r.rowid = v.stored_row where $table = 'filter_changes' and v.confirms;
insert into replaced.places
select $table, $file_id, v.line, r.file_id, r.line
from records.technicians r join verdicts v on r.rowid = v.stored_row where $table = 'technicians' and v.confirms;
insert into replaced.places
select $table, $file_id, v.line, r.file_id, r.line
from records.follow_ups r join verdicts v on r.rowid = v.stored_row where $table = 'follow_ups' and v.confirms;
