-- Headline counts by group: one row per group; $by is technician, depot, symptom, cause, part, product_family, month.
-- A call with several symptoms or parts counts once under each, so that those groups do not add up.
-- Columns: group_code (null: not recorded or not recognised), and counts of calls.
with counted as (
    select
        marts.group_code($by, technician, depot, cause, product_family, closed_month) as code,
        marts.set_number($by, symptom_set, part_set) as set_number,
        count(*) as calls,
        count_if(judged) as judged,
        count_if(young) as young,
        count_if(judged and (came_back_bits & $family_bit) <> 0) as came_back_family,
        count_if(judged and (came_back_bits & $any_bit) <> 0) as came_back_any,
        count_if(judged and not is_callback and visits > 0) as first_time_judged,
        count_if(judged and not is_callback and visits = 1 and not came_back) as first_time_fixed,
        count_if(young and not is_callback and visits > 0) as first_time_young,
        count_if(not $has_visits and judged and not is_callback) as no_callback_judged,
        count_if(not $has_visits and judged and not is_callback and not came_back) as no_callback_held,
        count_if(not $has_visits and young and not is_callback) as no_callback_young,
        count_if(completed and is_callback) as callbacks_completed,
        count_if(completed and not is_callback and visits = 0) as completed_without_visit,
        count_if(not completed) as not_completed
    from marts.selection(
        $window_bit, $cutoffs, $as_of_end, $closed_from, $closed_before,
        $depots, $technicians, $causes, $product_families, $symptom_sets, $part_sets
    )
    group by code, set_number
),

with_code as (
    select if(sets.set_number is null, counted.code, sets.code) as group_code, counted.* exclude (code, set_number)
    from counted
    left join marts.set_codes($by) as sets on sets.set_number = counted.set_number
)

select
    group_code,
    sum(columns(* exclude (group_code)))::bigint
from with_code
group by group_code;
