-- What holds now for the things in $keys (a JSON list) of one kind: one row a thing and matter.
-- Columns: key, matter, value, note, who, made_at.
select key, matter, value, note, who, made_at
from decisions
where number in (
    select max(number)
    from decisions
    where kind = $kind and key in (select value from json_each($keys))
    group by key, matter
)
    and value <> ''
order by key, matter;
