-- All calls of one unit, latest opened first: the columns of a list of calls, and what the figures took each for.
-- came_back and is_callback are by 30 days and same family; came_back is null where the window has not passed.
with of_hash as materialized (           -- the hash is found fast; the id then settles it
    select * from marts.calls where unit_hash = $unit_hash::ubigint
)

select
    calls.call_id,
    calls.unit_id,
    calls.opened_at,
    calls.opened_has_time,
    calls.closed_at,
    calls.closed_has_time,
    calls.standing,
    calls.job_kind,
    calls.depot,
    calls.technician,
    symptom_sets.symptoms,
    calls.cause,
    calls.outcome,
    calls.product_family,
    calls.visits,
    part_sets.parts,
    calls.filter_age_days,
    if(
        calls.is_completed and calls.closed_at + interval 30 day <= ends.ends_at,
        (calls.came_back_bits & 4) <> 0,
        null
    ) as came_back,
    (calls.is_callback_bits & 4) <> 0 as is_callback,
    if(calls.days_until_return <= 90, calls.days_until_return, null) as days_until_return,
    calls.closing_lag_days,
    calls.diagnosis_technician,
    calls.first_diagnosis,
    calls.payer,
    calls.customer_says_same,
    calls.return_trip_of is not null as is_return_trip,
    calls.return_trip_of,
    calls.filter_age_band,
    calls.filter_age_began_days,
    calls.filter_told_later_days,
    calls.office_flag,
    coalesce(calls.episode_id, if(calls.is_completed, calls.call_id, null)) as episode_id,
    ends.source
from of_hash as calls
inner join marts.symptom_sets on symptom_sets.symptom_set = calls.symptom_set
inner join marts.part_sets on part_sets.part_set = calls.part_set
inner join marts.observation_ends as ends on ends.place = calls.place
where calls.unit_id = $unit_id
order by calls.opened_at desc, calls.call_id desc;
