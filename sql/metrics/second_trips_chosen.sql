-- The calls chosen that took a second trip for a part: one row a call. Column: row_id, of marts.calls.
select row_id
from marts.subset(
    'completed', $days_bit, $window_bit, $cutoffs, $as_of_end, $closed_from, $closed_before,
    $depots, $technicians, $causes, $product_families, $symptom_sets, $part_sets
)
where is_return_trip or (waited_for_part and visits > 1);
