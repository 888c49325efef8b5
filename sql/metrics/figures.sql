-- Headline counts: one row a month of closing and state; what is open has no month. State: completed, open, not_a_repair,
-- or why no work was done. All other columns count calls, and same_day_pairs pairs of calls; so rows add up.
-- first_time_*: judged, not themselves callbacks, with a visit. let_in_*: of them, nobody home on no visit.
-- no_callback_*: what stands in where the fleet has no visits ($has_visits spares the counting where it has).
-- spoiled_*: of calls judged and not fixed the first time, the first reason that applies, in this order; *_too: all
-- that the reason applies to.
with facts as (
    select
        *,
        judged and not is_callback as own,
        young and not is_callback as own_young,
        visits > 0 as visited,
        no_access_visits = 0 as always_let_in,
        judged and (came_back_bits & $family_bit) <> 0 as came_back_family,
        judged and (came_back_bits & $any_bit) <> 0 as came_back_any,
        (recorded_bits & 2) <> 0 as has_outcome,
        is_install_done and window_passed as install_judged
    from marts.selection(
        $window_bit, $cutoffs, $as_of_end, $closed_from, $closed_before,
        $depots, $technicians, $causes, $product_families, $symptom_sets, $part_sets
    )
),

further as (
    select
        *,
        own and visited as first_time,
        own and visits = 1 and not came_back as fixed,
        own and visited and (visits > 1 or came_back) as spoiled
    from facts
),

counted as (
    select
        closed_month,
        state,
        count(*) as calls,
        count_if(completed) as completed,
        count_if(judged) as judged,
        count_if(young) as young,
        count_if(came_back_family) as came_back_family,
        count_if(came_back_any) as came_back_any,

        count_if(first_time) as first_time_judged,
        count_if(fixed) as first_time_fixed,
        count_if(first_time and always_let_in) as let_in_judged,
        count_if(fixed and always_let_in) as let_in_fixed,
        count_if(own_young and visited) as first_time_young,
        count_if(not $has_visits and own) as no_callback_judged,
        count_if(not $has_visits and own and not came_back) as no_callback_held,
        count_if(not $has_visits and own_young) as no_callback_young,
        count_if(completed and is_callback) as callbacks_completed,
        count_if(completed and not is_callback and not visited) as completed_without_visit,

        count_if(spoiled and came_back) as spoiled_came_back,
        count_if(spoiled and not came_back and waited_for_part) as spoiled_part,
        count_if(spoiled and waited_for_part) as spoiled_part_too,
        count_if(spoiled and not (came_back or waited_for_part) and first_diagnosis_wrong) as spoiled_diagnosis,
        count_if(spoiled and first_diagnosis_wrong) as spoiled_diagnosis_too,
        count_if(spoiled and not (came_back or waited_for_part or first_diagnosis_wrong or always_let_in))
            as spoiled_no_access,
        count_if(spoiled and not always_let_in) as spoiled_no_access_too,
        count_if(spoiled and not (came_back or waited_for_part or first_diagnosis_wrong) and always_let_in)
            as spoiled_other,

        -- counted beside the rates
        count_if(completed and not (opened_has_time and closed_has_time)) as without_times,
        count_if(completed and closing_lag_days >= 1) as closed_late,
        count_if(is_return_trip) as return_trips,
        coalesce(sum(if(completed, same_day_calls, 0)), 0) as same_day_pairs,
        count_if(completed and symptom_set = 0) as symptom_not_recognised,
        count_if(completed and cause is null) as cause_not_recognised,
        count_if(completed and outcome is null and has_outcome) as outcome_not_recognised,
        count_if(completed and not has_outcome and (recorded_bits & 128) <> 0) as outcome_blank,
        count_if(completed and (recorded_bits & 128) = 0) as without_outcome_column,
        count_if(completed and (recorded_bits & 64) = 0) as without_closing_column,
        count_if(judged and (retired_bits & $days_bit) <> 0) as retired_inside_window,
        count_if(install_judged) as installs_judged,
        count_if(install_judged and (install_return_bits & $days_bit) <> 0) as install_returns,
        count_if(filter_disagrees) as filter_disagrees
    from further
    group by closed_month, state
)

select closed_month, state, columns(* exclude (closed_month, state))::bigint
from counted;
