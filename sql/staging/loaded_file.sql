-- One file that was loaded and stands. Grain: at most one row. Columns: loads.files. Binds $file_id.
select * from loads.files where file_id = $file_id;
