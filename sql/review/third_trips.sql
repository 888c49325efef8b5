-- Third and later trips on one fault, one row a string of returns (or a call that is in none) on which a call was opened or a
-- visit made from $since to $until. Trips: its visits until then; a call without a visit is one to come, unless it was closed
-- without a visit where visits are recorded ($has_visits): then none was needed.
-- Columns: call_id (the latest call), unit_id, depot, symptoms, trips, calls, first_opened_at, last_at (latest opening or visit),
-- causes (what each call was taken for, in order, repeats left out), standing (of the latest call, as of $until).
with visited as (
    select distinct call_id
    from marts.visits
    where arrived_at between $since::timestamp and $until::timestamp
),

touched as materialized (
    select unit_hash, coalesce(episode_id, call_id) as string_id
    from marts.calls
    where standing <> 'not_a_repair' and opened_at between $since::timestamp and $until::timestamp
    union
    select calls.unit_hash, coalesce(calls.episode_id, calls.call_id)
    from marts.calls
    semi join visited on visited.call_id = calls.call_id
    where calls.standing <> 'not_a_repair' and calls.opened_at <= $until::timestamp
),

of_units as materialized (           -- numbers of units are found faster than texts
    select *
    from marts.calls
    where unit_hash in (select unit_hash from touched)
        and standing <> 'not_a_repair'
        and opened_at <= $until::timestamp
),

members as (
    select
        calls.*,
        coalesce(calls.episode_id, calls.call_id) as string_id,
        coalesce(calls.closed_at <= $until::timestamp, false) as closed_by_then
    from of_units as calls
    where coalesce(calls.episode_id, calls.call_id) in (select string_id from touched)
),

made as (
    select
        members.string_id,
        members.call_id,
        count(visits.call_id) as visits,
        max(visits.arrived_at) as last_visit_at
    from members
    left join marts.visits on visits.call_id = members.call_id and visits.arrived_at <= $until::timestamp
    group by all
),

summed as (
    select
        members.string_id,
        sum(if(made.visits = 0 and members.closed_by_then and $has_visits, 0, greatest(made.visits, 1)))::bigint as trips,
        count(*) as calls,
        min(members.opened_at) as first_opened_at,
        max(greatest(members.opened_at, made.last_visit_at)) as last_at,
        arg_max(members.call_id, (members.opened_at, members.call_id)) as last_call_id,
        list(members.cause order by members.opened_at, members.call_id) filter (where members.cause is not null) as causes
    from members
    inner join made on made.string_id = members.string_id and made.call_id = members.call_id
    group by members.string_id
)

select
    summed.last_call_id as call_id,
    calls.unit_id,
    calls.depot,
    symptom_sets.symptoms,
    summed.trips,
    summed.calls,
    summed.first_opened_at,
    summed.last_at,
    coalesce(list_filter(summed.causes, lambda cause, i: i = 1 or cause <> summed.causes[i - 1]), []) as causes,
    if(calls.closed_at > $until::timestamp, 'open', calls.standing) as standing
from summed
inner join of_units as calls on calls.call_id = summed.last_call_id
inner join marts.symptom_sets on symptom_sets.symptom_set = calls.symptom_set
where summed.trips >= 3
order by summed.trips desc, summed.last_at desc, summed.last_call_id
limit $most;
