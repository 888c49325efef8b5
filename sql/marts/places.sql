-- places: one row per source and depot ('' for calls without one) with its number; numbers once given are kept.
create or replace temp table places as
with met as (
    select distinct source, coalesce(depot, '') as depot from scope_calls
),

new as (
    select met.* from met
    anti join marts.observation_ends as known on known.source = met.source and known.depot = met.depot
)

select place, source, depot from marts.observation_ends
union all
select
    (coalesce((select max(place) from marts.observation_ends), 0) + row_number() over (order by source, depot))::integer,
    source,
    depot
from new;
