-- Headline counts: one row per state of a call (completed, open, not_a_repair, or why no work was done).
-- All columns but state count calls, and same_day_pairs pairs of calls; so rows add up.
with counted as (
    select
        state,
        count(*) as calls,
        count_if(completed) as completed,
        count_if(judged) as judged,
        count_if(young) as young,
        count_if(judged and (came_back_bits & $family_bit) <> 0) as came_back_family,
        count_if(judged and (came_back_bits & $any_bit) <> 0) as came_back_any,

        -- first-time fix: judged, not themselves callbacks, with a visit
        count_if(judged and not is_callback and visits > 0) as first_time_judged,
        count_if(judged and not is_callback and visits = 1 and not came_back) as first_time_fixed,
        count_if(judged and not is_callback and visits > 0 and no_access_visits = 0) as let_in_judged,
        count_if(judged and not is_callback and visits = 1 and no_access_visits = 0 and not came_back)
            as let_in_fixed,
        count_if(young and not is_callback and visits > 0) as first_time_young,

        -- where the fleet has no visits: closed without a return ($has_visits spares the counting where they are not used)
        count_if(not $has_visits and judged and not is_callback) as no_callback_judged,
        count_if(not $has_visits and judged and not is_callback and not came_back) as no_callback_held,
        count_if(not $has_visits and young and not is_callback) as no_callback_young,
        count_if(completed and is_callback) as callbacks_completed,
        count_if(completed and not is_callback and visits = 0) as completed_without_visit,

        -- counted beside the rates
        count_if(is_return_trip) as return_trips,
        coalesce(sum(same_day_calls) filter (completed), 0)::bigint as same_day_pairs,
        count_if(completed and symptom_set = 0) as symptom_not_recognised,
        count_if(completed and outcome is null and (recorded_bits & 2) <> 0) as outcome_not_recognised,
        count_if(completed and (recorded_bits & 128) <> 0 and (recorded_bits & 2) = 0) as outcome_blank,
        count_if(completed and (recorded_bits & 128) = 0) as without_outcome_column,
        count_if(completed and (recorded_bits & 64) = 0) as without_closing_column,
        count_if(completed and cause is null) as cause_not_recognised,
        count_if(judged and (retired_bits & $days_bit) <> 0) as retired_inside_window,
        count_if(is_install_done and window_passed) as installs_judged,
        count_if(is_install_done and window_passed and (install_return_bits & $days_bit) <> 0)
            as install_returns,
        count_if(filter_disagrees) as filter_disagrees
    from marts.selection(
        $window_bit, $cutoffs, $as_of_end, $closed_from, $closed_before,
        $depots, $technicians, $causes, $product_families, $symptom_sets, $part_sets
    )
    group by state
)

select state, columns(* exclude (state))::bigint
from counted;
