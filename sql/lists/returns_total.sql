-- How many returns are counted against the calls chosen. One row: returns.
select count(*) as returns
from marts.subset(
    'came_back', $days_bit, $window_bit, $cutoffs, $as_of_end, $closed_from, $closed_before,
    $depots, $technicians, $causes, $product_families, $symptom_sets, $part_sets
) as charged
inner join marts.returns on returns.charged_call_id = charged.call_id
where returns.match = $match and (returns.window_bits & $days_bit) <> 0;
