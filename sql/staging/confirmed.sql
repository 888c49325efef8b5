-- Move the known rows that a certainly later file has unchanged to that file, so that no file between the two can
-- count as later than what is known.
-- Grain: one row per known row.
-- Binds $file_id, $table.
update records.calls as r set file_id = $file_id, line = v.line
from verdicts v where $table = 'calls' and v.confirms and r.rowid = v.stored_row;
update records.visits as r set file_id = $file_id, line = v.line
from verdicts v where $table = 'visits' and v.confirms and r.rowid = v.stored_row;
update records.checks as r set file_id = $file_id, line = v.line
from verdicts v where $table = 'checks' and v.confirms and r.rowid = v.stored_row;
update records.parts as r set file_id = $file_id, line = v.line
from verdicts v where $table = 'parts' and v.confirms and r.rowid = v.stored_row;
update records.units as r set file_id = $file_id, line = v.line
from verdicts v where $table = 'units' and v.confirms and r.rowid = v.stored_row;
update records.filter_changes as r set file_id = $file_id, line = v.line
from verdicts v where $table = 'filter_changes' and v.confirms and r.rowid = v.stored_row;
update records.technicians as r set file_id = $file_id, line = v.line
from verdicts v where $table = 'technicians' and v.confirms and r.rowid = v.stored_row;
update records.follow_ups as r set file_id = $file_id, line = v.line
from verdicts v where $table = 'follow_ups' and v.confirms and r.rowid = v.stored_row;
