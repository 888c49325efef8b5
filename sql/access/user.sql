-- The account of one name, one row at most. Columns: number, name, role, password_hash.
select number, name, role, password_hash from users where name_key = $name_key;
