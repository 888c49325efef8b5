-- Add one decision.
insert into decisions (made_at, matter, kind, key, value, note, who)
values ($made_at, $matter, $kind, $key, $value, $note, $who);
