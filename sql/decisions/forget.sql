-- Take decisions away whose key names something forgotten: a call, or a group. Binds $ids (a JSON list), $group (the
-- beginning of the keys of a group, or '').
delete from decisions
where key in (select value from json_each($ids)) or ($group <> '' and substr(key, 1, length($group)) = $group);
