-- subset: the calls behind one number. The selection, and of it the calls of one of the closed list of subsets in
-- analytics/questions/subsets.py. days_bit is the window as one of five bits. Columns as in selection, and
--   first_time_judged, spoiled  first-time fix is judged on it; it was not fixed the first time
--   silent      judged, and nobody rang again within the window, for any symptom
--   told        what the customer answered when asked afterwards, as far as it was known at as_of_end
create macro marts.subset(
    subset, days_bit, window_bit, cutoffs, as_of_end, closed_from, closed_before,
    depots, technicians, causes, product_families, symptom_sets, part_sets
) as table
with first_time as (
    select
        *,
        judged and (came_back_bits & (32 * days_bit)::usmallint) = 0 as silent,
        if(as_of_end::timestamp is null or follow_up_on <= as_of_end::timestamp::date, follow_up, null) as told,
        judged and not is_callback and visits > 0 as first_time_judged,
        judged and not is_callback and visits > 0 and not (visits = 1 and not came_back) as spoiled
    from marts.selection(
        window_bit, cutoffs, as_of_end, closed_from, closed_before,
        depots, technicians, causes, product_families, symptom_sets, part_sets
    )
)

select *
from first_time
where case subset
    when 'all' then true
    when 'completed' then completed
    when 'judged' then judged
    when 'came_back' then judged and came_back
    when 'held' then judged and not came_back
    when 'callbacks' then is_callback
    when 'own_judged' then judged and not is_callback
    when 'own_held' then judged and not is_callback and not came_back
    when 'inside_window' then young
    when 'first_time_judged' then first_time_judged
    when 'first_time_fix' then first_time_judged and not spoiled
    when 'not_first_time_fix' then spoiled
    when 'spoiled_came_back' then spoiled and came_back
    when 'spoiled_part' then spoiled and not came_back and waited_for_part
    when 'spoiled_diagnosis' then spoiled and not came_back and not waited_for_part and first_diagnosis_wrong
    when 'spoiled_no_access'
        then spoiled
            and not came_back and not waited_for_part and not first_diagnosis_wrong and no_access_visits > 0
    when 'spoiled_other'
        then spoiled
            and not came_back and not waited_for_part and not first_diagnosis_wrong and no_access_visits = 0
    when 'silent' then silent
    when 'silent_works' then silent and told = 'works'
    when 'silent_partly' then silent and told = 'partly'
    when 'silent_no' then silent and told = 'no'
    when 'silent_not_reached' then silent and told = 'not_reached'
    when 'flagged_both' then is_repair and coalesce(office_flag, false) and is_callback
    when 'fixed_by_phone' then completed and visits = 0
    when 'open' then state = 'open'
    when 'return_trips' then is_return_trip
    when 'second_trips' then completed and (is_return_trip or (waited_for_part and visits > 1))
    when 'same_day' then completed and same_day_calls > 0
    when 'install_returns'
        then is_install_done and window_passed and (install_return_bits & days_bit::utinyint) <> 0
    when 'retired_inside_window'
        then judged and (retired_bits & days_bit::utinyint) <> 0
    when 'symptom_not_recognised' then completed and symptom_set = 0
    when 'cause_not_recognised' then completed and cause is null
    when 'outcome_not_recognised' then completed and outcome is null and (recorded_bits & 2) <> 0
    when 'recorded:cause' then completed and (recorded_bits & 1) <> 0
    when 'recorded:outcome' then completed and (recorded_bits & 2) <> 0
    when 'recorded:visit' then completed and (recorded_bits & 4) <> 0
    when 'recorded:check' then completed and (recorded_bits & 8) <> 0
    when 'recorded:reading' then completed and (recorded_bits & 16) <> 0
    when 'recorded:filter_date' then completed and (recorded_bits & 32) <> 0
    when 'filter_disagrees' then filter_disagrees
    when 'closed_by_paperwork' then completed and closing_lag_days >= 1
    when 'returned_before_closing' then returns_before_closing > 0
    when 'visits_after_closing' then visits_after_closing > 0
    when 'flagged_by_office_only' then is_repair and coalesce(office_flag, false) and not is_callback
    when 'flagged_by_us_only' then is_callback and not coalesce(office_flag, false)
    when 'leak_after_our_work' then judged and (leak_bits & days_bit::utinyint) <> 0
    when 'left_out:no_work_done'
        then state not in (
            'completed', 'open', 'not_a_repair', 'cancelled', 'no_access', 'referred_on', 'estimate_declined',
            'part_on_order', 'duplicate'
        )
    else state = replace(subset, 'left_out:', '')
end;
