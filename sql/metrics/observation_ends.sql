-- Ends of observation: one row per place (source and depot), by number.
-- Columns: place, source, depot, ends_at, ends_from, source_ends_at, source_ends_from.
select
    place,
    source,
    depot,
    ends_at,
    ends_from,
    source_ends_at,
    source_ends_from
from marts.observation_ends
order by place;
