-- Headline counts: one row. All columns count calls, but same_day_pairs, which counts pairs of calls.
-- first_time_*: judged, not themselves callbacks, with a visit. let_in_*: of them, nobody home on no visit.
-- no_callback_*: what stands in where the fleet has no visits ($has_visits spares the counting where it has).
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
        own and visits = 1 and not came_back as fixed
    from facts
),

counted as (
    select
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

        -- counted beside the rates
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
)

-- over no calls at all, count_if gives null
select coalesce(columns(*), 0)::bigint
from counted;
