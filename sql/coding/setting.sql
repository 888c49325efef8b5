-- A setting, one row at most. Binds $name. Columns: value.
select value from settings where name = $name;
