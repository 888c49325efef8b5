-- Note what was tried in vain under one key.
insert into attempts (key, failures, last_at) values ($key, $failures, $now)
on conflict (key) do update set failures = excluded.failures, last_at = excluded.last_at;
