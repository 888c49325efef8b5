-- How many calls a subset holds. One row: calls.
select count(*) as calls
from marts.subset(
    $subset, $days_bit, $window_bit, $cutoffs, $as_of_end, $closed_from, $closed_before,
    $depots, $technicians, $causes, $product_families, $symptom_sets, $part_sets
);
