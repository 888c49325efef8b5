-- All that was ever decided about things of one $kind, in the order in which it was: one row a decision.
-- Columns: number, key, matter, value ('' takes back), note, who, made_at.
select number, key, matter, value, note, who, made_at from decisions where kind = $kind order by number;
