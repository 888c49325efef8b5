-- Completed calls with something recorded, by depot or technician ($by): one row a group.
-- Columns: group_code (null: not recorded), calls, and calls with a cause, outcome, visit, check, reading, filter date.
select
    case $by when 'depot' then depot when 'technician' then technician end as group_code,
    count(*) as calls,
    count_if((recorded_bits & 1) <> 0)::bigint as cause_calls,
    count_if((recorded_bits & 2) <> 0)::bigint as outcome_calls,
    count_if((recorded_bits & 4) <> 0)::bigint as visit_calls,
    count_if((recorded_bits & 8) <> 0)::bigint as check_calls,
    count_if((recorded_bits & 16) <> 0)::bigint as reading_calls,
    count_if((recorded_bits & 32) <> 0)::bigint as filter_date_calls
from marts.selection(
    $window_bit, $cutoffs, $as_of_end, $closed_from, $closed_before,
    $depots, $technicians, $causes, $product_families, $symptom_sets, $part_sets
)
where completed
group by group_code
order by calls desc, group_code;
