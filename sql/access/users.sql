-- Every account, by name. Columns: name, role, made_at.
select name, role, made_at from users order by name_key;
