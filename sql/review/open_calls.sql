-- Repairs not closed by the end of their records (or $until where that is earlier), one row a call, oldest first.
-- Columns: call_id, unit_id, depot, symptoms, opened_at, opened_has_time, age_days, visits (until then), last_visit_at,
-- waits_for: part_on_order, no_access, estimate, referred_on (by the latest visit, else by the outcome as written), not_visited
-- (visits are recorded, and none on this call), not_said.
with open_calls as (
    select
        calls.*,
        least($until::timestamp, ends.ends_at) as seen_until
    from marts.calls
    inner join marts.observation_ends as ends on ends.place = calls.place
    where calls.standing <> 'not_a_repair'
        and calls.opened_at <= $until::timestamp
        and coalesce(calls.closed_at > $until::timestamp, true)
),

latest as (
    select
        open_calls.call_id,
        count(visits.call_id) as visits,
        max(visits.arrived_at) as last_visit_at,
        arg_max(visits.result, (visits.arrived_at, visits.visit_number)) as result,
        arg_max(visits.waits_for_part, (visits.arrived_at, visits.visit_number)) as waits_for_part,
        arg_max(visits.let_in, (visits.arrived_at, visits.visit_number)) as let_in
    from open_calls
    inner join marts.visits on visits.call_id = open_calls.call_id
    where visits.arrived_at <= $until::timestamp
    group by open_calls.call_id
)

select
    open_calls.call_id,
    open_calls.unit_id,
    open_calls.depot,
    symptom_sets.symptoms,
    open_calls.opened_at,
    open_calls.opened_has_time,
    greatest(date_diff('day', open_calls.opened_at::date, open_calls.seen_until::date), 0) as age_days,
    coalesce(latest.visits, 0) as visits,
    latest.last_visit_at,
    case
        when latest.waits_for_part or (latest.call_id is null and open_calls.outcome = 'part_on_order')
            then 'part_on_order'
        when not latest.let_in or (latest.call_id is null and open_calls.outcome = 'no_access') then 'no_access'
        when latest.result = 'declined' or open_calls.outcome = 'estimate_declined' then 'estimate'
        when latest.result = 'referred_on' or open_calls.outcome = 'referred_on' then 'referred_on'
        when latest.call_id is null and $has_visits then 'not_visited'
        else 'not_said'
    end as waits_for
from open_calls
left join latest on latest.call_id = open_calls.call_id
inner join marts.symptom_sets on symptom_sets.symptom_set = open_calls.symptom_set
order by open_calls.opened_at, open_calls.call_id
limit $most;
