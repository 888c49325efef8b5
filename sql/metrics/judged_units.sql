-- Judged calls by unit: one row per unit of which one came back, and one (unit_hash null) for all other units together.
-- Columns: unit_hash, units, n (judged calls), nn (sum over units of their squared number), first_closed_at,
-- last_closed_at.
with by_unit as (
    select
        unit_hash,
        count(*) as n,
        bool_or(came_back) as some_came_back,
        min(closed_at) as first_closed_at,
        max(closed_at) as last_closed_at
    from marts.selection(
        $window_bit, $cutoffs, $as_of_end, $closed_from, $closed_before,
        $depots, $technicians, $causes, $product_families, $symptom_sets, $part_sets
    )
    where judged
    group by unit_hash
)

select
    if(some_came_back, unit_hash, null) as unit_hash,
    count(*) as units,
    sum(n)::double as n,
    sum(n * n)::double as nn,
    min(first_closed_at) as first_closed_at,
    max(last_closed_at) as last_closed_at
from by_unit
group by if(some_came_back, unit_hash, null);
