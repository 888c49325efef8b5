-- Take away what was tried in vain under one key, and all from before $before.
delete from attempts where key = $key or last_at < $before;
