-- What was thought first and what it came to, whatever is chosen: one row per string of returns, in order of row_id.
-- What followed the first visit: returns are the calls after the first one; visits are those of all its calls at which somebody
-- let us in, but for the first of them; minutes those between arriving and leaving of visits that have both, with a time of
-- day, and at most 12 hours apart; untimed are the visits without.
-- Columns: row_id (of the first call, in marts.calls), first_thought, names_cause (false: no fault found), thought_recorded (a
-- first diagnosis beside the cause), final_cause, standing, part_set (fitted on the first call), visited
-- (somebody went; always, where no visit was loaded), product_family, filter_age_band, returns, visits, minutes, untimed, return_minutes
-- (those of the minutes that are on returns).
with strings as (
    select
        calls.rowid as row_id,
        diagnoses.episode_id,
        diagnoses.first_thought,
        coalesce(thoughts.can_be_final, true) as names_cause,
        calls.first_diagnosis is not null as thought_recorded,
        diagnoses.final_cause,
        diagnoses.standing,
        calls.part_set,
        calls.visits > 0 or not (select count(*) > 0 from (from marts.visits limit 1)) as visited,
        calls.product_family,
        calls.filter_age_band,
        diagnoses.calls - 1 as returns
    from marts.diagnoses
    inner join marts.calls on calls.call_id = diagnoses.episode_id
    left join catalogue.causes as thoughts on thoughts.code = diagnoses.first_thought
),

-- calls of strings that can have a second visit
members as (
    select call_id, coalesce(episode_id, call_id) as episode_id
    from marts.calls
    where standing <> 'not_a_repair' and (episode_id is not null or visits > 1)
),

visited as (
    select
        members.episode_id,
        members.call_id <> members.episode_id as of_return,
        if(visits.arrived_has_time, (epoch(visits.left_at) - epoch(visits.arrived_at)) / 60, null) as minutes,
        row_number() over (
            partition by members.episode_id order by visits.arrived_at, visits.call_id, visits.visit_number
        ) as place_in_string
    from marts.visits
    inner join members on members.call_id = visits.call_id
    where visits.let_in
),

followed as (
    select
        episode_id,
        count(*) as visits,
        sum(minutes) filter (minutes > 0 and minutes <= 720) as minutes,
        count_if(not coalesce(minutes > 0 and minutes <= 720, false)) as untimed,
        sum(minutes) filter (of_return and minutes > 0 and minutes <= 720) as return_minutes
    from visited
    where place_in_string > 1
    group by episode_id
)

select
    strings.row_id::integer as row_id,
    strings.first_thought,
    strings.names_cause,
    strings.thought_recorded,
    strings.final_cause,
    strings.standing,
    strings.part_set,
    strings.visited,
    strings.product_family,
    strings.filter_age_band,
    strings.returns::double as returns,
    coalesce(followed.visits, 0)::double as visits,
    coalesce(followed.minutes, 0)::double as minutes,
    coalesce(followed.untimed, 0)::double as untimed,
    coalesce(followed.return_minutes, 0)::double as return_minutes
from strings
left join followed on followed.episode_id = strings.episode_id
order by strings.row_id;
