-- How the calls chosen stand: one row per state. Columns: state (completed, open, not_a_repair, or why no work was done),
-- calls.
select state, count(*) as calls
from marts.selection(
    $window_bit, $cutoffs, $as_of_end, $closed_from, $closed_before,
    $depots, $technicians, $causes, $product_families, $symptom_sets, $part_sets
)
group by state;
