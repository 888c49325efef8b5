-- Remove the rows that a file brought. Grain: one row per record.
-- Binds $table, $file_id.
delete from records.calls where $table = 'calls' and file_id = $file_id;
delete from records.visits where $table = 'visits' and file_id = $file_id;
delete from records.checks where $table = 'checks' and file_id = $file_id;
delete from records.parts where $table = 'parts' and file_id = $file_id;
delete from records.units where $table = 'units' and file_id = $file_id;
delete from records.filter_changes where $table = 'filter_changes' and file_id = $file_id;
delete from records.technicians where $table = 'technicians' and file_id = $file_id;
delete from records.follow_ups where $table = 'follow_ups' and file_id = $file_id;
