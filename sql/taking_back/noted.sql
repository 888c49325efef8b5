-- Note that a file was taken back: it counts as a file that was loaded no longer. Grain: one row.
-- Binds $file_id, $taken_back_by.
insert into loads.taken_back
select *, $taken_back_by from loads.files where file_id = $file_id;
delete from loads.files where file_id = $file_id;
delete from loads.set_aside where file_id = $file_id;
delete from loads.mended where mended_by = $file_id or file_id = $file_id;
