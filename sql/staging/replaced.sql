-- Take away the known rows that a row of the staged file replaces.
-- Binds $table.
delete from records.calls
where $table = 'calls' and rowid in (select stored_row from verdicts where verdict = 'updated');
delete from records.visits
where $table = 'visits' and rowid in (select stored_row from verdicts where verdict = 'updated');
delete from records.checks
where $table = 'checks' and rowid in (select stored_row from verdicts where verdict = 'updated');
delete from records.parts
where $table = 'parts' and rowid in (select stored_row from verdicts where verdict = 'updated');
delete from records.units
where $table = 'units' and rowid in (select stored_row from verdicts where verdict = 'updated');
delete from records.filter_changes
where $table = 'filter_changes' and rowid in (select stored_row from verdicts where verdict = 'updated');
delete from records.technicians
where $table = 'technicians' and rowid in (select stored_row from verdicts where verdict = 'updated');
delete from records.follow_ups
where $table = 'follow_ups' and rowid in (select stored_row from verdicts where verdict = 'updated');
