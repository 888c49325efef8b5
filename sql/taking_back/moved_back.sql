-- Move the rows that a file had unchanged back to the file they came from before. Grain: one row per record.
-- Binds $table, $file_id.
update records.calls as r set file_id = p.was_file_id, line = p.was_line
from replaced.places as p
where $table = 'calls' and p.table_name = 'calls' and p.file_id = $file_id and r.file_id = $file_id and r.line = p.line;
update records.visits as r set file_id = p.was_file_id, line = p.was_line
from replaced.places as p
where $table = 'visits' and p.table_name = 'visits' and p.file_id = $file_id and r.file_id = $file_id and r.line = p.line;
update records.checks as r set file_id = p.was_file_id, line = p.was_line
from replaced.places as p
where $table = 'checks' and p.table_name = 'checks' and p.file_id = $file_id and r.file_id = $file_id and r.line = p.line;
update records.parts as r set file_id = p.was_file_id, line = p.was_line
from replaced.places as p
where $table = 'parts' and p.table_name = 'parts' and p.file_id = $file_id and r.file_id = $file_id and r.line = p.line;
update records.units as r set file_id = p.was_file_id, line = p.was_line
from replaced.places as p
where $table = 'units' and p.table_name = 'units' and p.file_id = $file_id and r.file_id = $file_id and r.line = p.line;
update records.filter_changes as r set file_id = p.was_file_id, line = p.was_line
from replaced.places as p
where $table = 'filter_changes' and p.table_name = 'filter_changes' and p.file_id = $file_id and r.file_id = $file_id and r.line = p.line;
update records.technicians as r set file_id = p.was_file_id, line = p.was_line
from replaced.places as p
where $table = 'technicians' and p.table_name = 'technicians' and p.file_id = $file_id and r.file_id = $file_id and r.line = p.line;
update records.follow_ups as r set file_id = p.was_file_id, line = p.was_line
from replaced.places as p
where $table = 'follow_ups' and p.table_name = 'follow_ups' and p.file_id = $file_id and r.file_id = $file_id and r.line = p.line;
delete from replaced.places where file_id = $file_id;
