-- Repairs chosen, for what is known of their checks: one row a call. Columns: row_id (of marts.calls); completed, judged and came_back;
-- told, what the customer answered when asked afterwards (null: nobody asked).
select
    row_id,
    completed,
    judged,
    judged and came_back as came_back,
    told
from marts.subset(
    'all', $days_bit, $window_bit, $cutoffs, $as_of_end, $closed_from, $closed_before,
    $depots, $technicians, $causes, $product_families, $symptom_sets, $part_sets
)
where is_repair;
