-- Note the rows set aside that a file brought mended, from the frame mended_rows (file_id, line): they are listed no
-- longer. Where a row is set aside anew, it stands in the list as a row of the new file. Grain: one row per row.
-- Binds $mended_by.
insert into loads.mended
select distinct set_aside.file_id, set_aside.line, $mended_by
from loads.set_aside
semi join mended_rows using (file_id, line)
anti join loads.mended as before on before.file_id = set_aside.file_id and before.line = set_aside.line
where set_aside.file_id <> $mended_by;
