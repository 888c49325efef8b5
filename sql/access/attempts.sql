-- What was tried in vain under one key, one row at most. Columns: failures, last_at.
select failures, last_at from attempts where key = $key;
