-- From when to when the judged calls were closed: one row. Columns: first_closed_at, last_closed_at (null without any).
select
    min(closed_at) as first_closed_at,
    max(closed_at) as last_closed_at
from marts.selection(
    $window_bit, $cutoffs, $as_of_end, $closed_from, $closed_before,
    $depots, $technicians, $causes, $product_families, $symptom_sets, $part_sets
)
where judged;
