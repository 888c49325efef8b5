-- Whether the tables of accounts were made. One row: tables (1 or 0).
select count(*) as tables from sqlite_master where type = 'table' and name = 'users';
