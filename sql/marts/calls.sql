-- marts.calls: one row per call in scope, put together from the temporary tables of this build.
create or replace temp table call_callbacks as
with by_call as (
    select
        charged_row as call_row,
        coalesce(bit_or(window_bits & 31) filter (match = 'family'), 0)
        + 32 * coalesce(bit_or(window_bits & 31) filter (match = 'any'), 0)::usmallint as came_back_bits,
        0 as is_callback_bits,
        min(gap_days) filter (match = 'family') as days_until_return,
        min(gap_days) filter (match = 'any') as days_until_return_any
    from charges
    group by charged_row
    union all
    select
        return_row,
        0,
        coalesce(bit_or(window_bits & 31) filter (match = 'family'), 0)
        + 32 * coalesce(bit_or(window_bits & 31) filter (match = 'any'), 0)::usmallint,
        null,
        null
    from charges
    group by return_row
)

select
    call_row,
    max(came_back_bits)::usmallint as came_back_bits,
    max(is_callback_bits)::usmallint as is_callback_bits,
    max(days_until_return) as days_until_return,
    max(days_until_return_any) as days_until_return_any
from by_call
group by call_row;

-- calls opened within 30 days of a repair of the unit by another technician
create or replace temp table after_another as
select distinct charges.return_row as call_row
from charges
inner join coded_calls as later on later.call_row = charges.return_row
inner join coded_calls as earlier on earlier.call_row = charges.charged_row
left join call_visits as later_visits on later_visits.call_row = charges.return_row
left join call_visits as earlier_visits on earlier_visits.call_row = charges.charged_row
where charges.match = 'any'
    and (charges.window_bits & 4) <> 0
    and coalesce(later_visits.repair_technician, later.technician_id)
    <> coalesce(earlier_visits.repair_technician, earlier.technician_id);

insert into marts.calls by name
with first_calls as (
    select episode_roots.call_row, coded_calls.call_id
    from episode_roots
    inner join coded_calls on coded_calls.call_row = episode_roots.root_row
    union all
    select call_row, call_id
    from coded_calls
    where call_row in (select root_row from episode_roots)
)

select
    calls.call_id,
    calls.unit_id,
    calls.unit_hash,
    calls.unit_hash & 63 as unit_sample,
    date_trunc('month', calls.closed_at)::date::varchar as closed_month,
    calls.place,
    nullif(places.depot, '') as depot,
    coalesce(call_visits.repair_technician, calls.technician_id) as technician,
    coalesce(call_visits.diagnosis_technician, calls.technician_id) as diagnosis_technician,
    calls.opened_at,
    calls.opened_has_time,
    calls.closed_at,
    calls.closed_has_time,
    calls.job_kind,
    calls.standing,
    calls.is_completed,
    calls.job_kind = 'install' and calls.closed_at is not null and calls.work_done as is_install_done,
    calls.outcome,
    calls.symptom_set,
    calls.family_bits,
    calls.same_again as customer_says_same,
    return_trips.return_trip_of,
    calls.cause,
    calls.first_diagnosis,
    coalesce(calls.first_diagnosis <> calls.cause, false) and goes_deeper.cause is null as first_diagnosis_wrong,
    calls.product_family,
    if(calls.installed_on <= calls.opened_at::date, calls.installed_on, null) as installed_on,
    calls.supply,
    calls.payer,
    after_another.call_row is not null as follows_another,
    coalesce(call_visits.visits, 0) as visits,
    coalesce(call_visits.no_access_visits, 0) as no_access_visits,
    coalesce(call_visits.waited_for_part, false) as waited_for_part,
    coalesce(call_parts.part_set, 0) as part_set,
    coalesce(callbacks.came_back_bits, 0) as came_back_bits,
    coalesce(callbacks.is_callback_bits, 0) as is_callback_bits,
    callbacks.days_until_return,
    callbacks.days_until_return_any,
    takeovers.days_until_taken_over,
    takeovers.days_until_taken_over_any,
    if(calls.is_completed and calls.retired_on >= calls.closed_at::date, calls.retired_on - calls.closed_at::date, null)
        as days_until_retired,
    coalesce(same_day.same_day_calls, 0) as same_day_calls,
    coalesce(same_day.same_day_calls_any, 0) as same_day_calls_any,
    coalesce(install_returns.install_return_bits, 0) as install_return_bits,
    coalesce(leaks.leak_bits, 0) as leak_bits,
    ages.filter_age_days,
    if(calls.has_no_filter, 'not_applicable', band_of(ages.filter_age_days)) as filter_age_band,
    ages.filter_age_began_days,
    if(calls.has_no_filter, 'not_applicable', band_of(ages.filter_age_began_days)) as filter_age_began_band,
    ages.filter_told_later_days,
    if(
        calls.closing_recorded and calls.closed_at is not null and call_visits.call_row is not null,
        greatest(
            0,
            gap_in_days(
                call_visits.last_visit_end, call_visits.visits_have_times, calls.closed_at, calls.closed_has_time
            )
        ),
        null
    ) as closing_lag_days,
    coalesce(before_closing.returns_before_closing, 0) as returns_before_closing,
    coalesce(late_visits.visits_after_closing, 0) as visits_after_closing,
    calls.office_flag,
    calls.recorded_bits
    + if(call_visits.call_row is null, 0, 4)
    + if(call_checks.call_row is null, 0, 8)
    + if(call_checks.has_reading, 16, 0) as recorded_bits,
    if(
        calls.retired_on >= calls.closed_at::date,
        bits_of_gap(date_diff('day', calls.closed_at::date, calls.retired_on)),
        0
    ) as retired_bits,
    coalesce(callbacks.is_callback_bits, 0) <> 0
    or coalesce(calls.office_flag, false)
    or same_day.call_row is not null
    or leaks.call_row is not null
    or before_closing.call_row is not null
    or late_visits.call_row is not null as is_odd,
    asked.follow_up,
    asked.follow_up_on,
    first_calls.call_id as episode_id,
    greatest(calls.opened_at, calls.closed_at, call_visits.last_visit_end) as last_seen_at
from coded_calls as calls
inner join places on places.place = calls.place
left join filter_ages as ages on ages.call_row = calls.call_row
left join catalogue.goes_deeper on goes_deeper.cause = calls.cause and goes_deeper.than = calls.first_diagnosis
left join return_trips on return_trips.call_row = calls.call_row
left join call_visits on call_visits.call_row = calls.call_row
left join call_checks on call_checks.call_row = calls.call_row
left join call_parts on call_parts.call_row = calls.call_row
left join call_callbacks as callbacks on callbacks.call_row = calls.call_row
left join takeovers on takeovers.call_row = calls.call_row
left join same_day on same_day.call_row = calls.call_row
left join install_returns on install_returns.call_row = calls.call_row
left join leaks on leaks.call_row = calls.call_row
left join before_closing on before_closing.call_row = calls.call_row
left join late_visits on late_visits.call_row = calls.call_row
left join asked on asked.call_row = calls.call_row
left join after_another on after_another.call_row = calls.call_row
left join first_calls on first_calls.call_row = calls.call_row;
