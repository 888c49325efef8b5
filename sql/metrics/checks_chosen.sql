-- Repairs chosen, for what is known of their checks: one row a call. Columns: row_id (of marts.calls); bits: 1, 2 completed, 4 judged,
-- 8 came back (of those judged), and of those completed what the customer answered when asked afterwards: 16 works, 32 partly, 64 no.
select
    row_id::integer as row_id,
    (
        1
        + if(completed, 2, 0)
        + if(judged, 4, 0)
        + if(judged and came_back, 8, 0)
        + if(completed, case told when 'works' then 16 when 'partly' then 32 when 'no' then 64 else 0 end, 0)
    )::utinyint as bits
from marts.subset(
    'all', $days_bit, $window_bit, $cutoffs, $as_of_end, $closed_from, $closed_before,
    $depots, $technicians, $causes, $product_families, $symptom_sets, $part_sets
)
where is_repair;
