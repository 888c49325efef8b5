-- Judged calls by unit: one row per unit of which one came back, and one (unit_hash null) for all other units together.
-- Columns: unit_hash, units, n (judged calls), nn (sum over units of their squared number).
with by_unit as (
    select
        unit_hash,
        count(*) as n,
        count_if(came_back) as came_back
    from marts.selection(
        $window_bit, $cutoffs, $as_of_end, $closed_from, $closed_before,
        $depots, $technicians, $causes, $product_families, $symptom_sets, $part_sets
    )
    where judged
    group by unit_hash
)

select
    if(came_back > 0, unit_hash, null) as unit_hash,
    count(*) as units,
    sum(n)::double as n,
    sum(n * n)::double as nn
from by_unit
group by if(came_back > 0, unit_hash, null);
