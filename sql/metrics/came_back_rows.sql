-- The judged calls that came back: one row a call. $by as in figures_by, of groups of which a call is in one only.
-- Columns: row_id (of marts.calls), unit_hash, group_code (null: not recorded).
select
    row_id,
    unit_hash,
    marts.group_code($by, technician, depot, cause, product_family, closed_month) as group_code
from marts.selection(
    $window_bit, $cutoffs, $as_of_end, $closed_from, $closed_before,
    $depots, $technicians, $causes, $product_families, $symptom_sets, $part_sets
)
where judged and came_back;
