-- Whether a table of the decisions was made. Binds $name. One row: tables (1 or 0).
select count(*) as tables from sqlite_master where type = 'table' and name = $name;
