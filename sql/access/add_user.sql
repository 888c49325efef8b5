-- Add one account.
insert into users (name, name_key, role, password_hash, made_at)
values ($name, $name_key, $role, $password_hash, $made_at);
