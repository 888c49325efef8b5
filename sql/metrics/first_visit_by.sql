-- First visits by group: one row per group. $by as in figures_by; 'none': all together. A call with several symptoms
-- or parts counts once under each, so that those groups do not add up.
-- Columns: group_code (null: not recorded or not recognised), and counts of calls, named as in metrics/figures:
-- first_time_*: judged, no callbacks themselves, with a visit. let_in_*: of them, nobody home on no visit.
-- spoiled_*: of those not fixed the first time, the first reason that applies, in this order; *_too: all that the
-- reason applies to. no_callback_*: what stands in where no visit was loaded. fixed_by_phone: completed, no visit.
with counted as (
    select
        marts.group_code($by, technician, depot, cause, product_family, closed_month) as code,
        marts.set_number($by, symptom_set, part_set) as set_number,
        count(*) as calls,
        count_if(not completed) as not_completed,
        count_if(judged) as judged,
        count_if(first_time_judged) as first_time_judged,
        count_if(first_time_judged and not spoiled) as first_time_fixed,
        count_if(young and not is_callback and visits > 0) as first_time_young,
        count_if(first_time_judged and no_access_visits = 0) as let_in_judged,
        count_if(first_time_judged and not spoiled and no_access_visits = 0) as let_in_fixed,
        count_if(judged and not is_callback) as no_callback_judged,
        count_if(judged and not is_callback and not came_back) as no_callback_held,
        count_if(young and not is_callback) as no_callback_young,
        count_if(completed and is_callback) as callbacks_completed,
        count_if(completed and not is_callback and visits = 0) as completed_without_visit,
        count_if(completed and visits = 0) as fixed_by_phone,

        count_if(spoiled and came_back) as spoiled_came_back,
        count_if(spoiled and not came_back and waited_for_part) as spoiled_part,
        count_if(spoiled and waited_for_part) as spoiled_part_too,
        count_if(spoiled and not (came_back or waited_for_part) and first_diagnosis_wrong) as spoiled_diagnosis,
        count_if(spoiled and first_diagnosis_wrong) as spoiled_diagnosis_too,
        count_if(
            spoiled and not (came_back or waited_for_part or first_diagnosis_wrong) and no_access_visits > 0
        ) as spoiled_no_access,
        count_if(spoiled and no_access_visits > 0) as spoiled_no_access_too,
        count_if(
            spoiled and not (came_back or waited_for_part or first_diagnosis_wrong) and no_access_visits = 0
        ) as spoiled_other
    from marts.subset(
        'all', $days_bit, $window_bit, $cutoffs, $as_of_end, $closed_from, $closed_before,
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
