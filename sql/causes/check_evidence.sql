-- check_evidence: how often each check found the fault, by what the cause turned out to be. One row per check and final cause,
-- over mature strings of returns whose cause was known by $until (null: all). A check made twice counts twice; a finding that is
-- not recorded, and one that could not tell, count as none found.
-- Columns: check_code, cause, made, found, minutes_sum and minutes_made (checks with minutes recorded).
with known as (
    select episodes.episode_id, episodes.final_cause
    from marts.episodes
    where episodes.final_cause is not null
        and episodes.last_closed_at <= ($cutoffs::timestamp[])[episodes.place]
        and ($until::timestamp is null or episodes.last_closed_at + interval 30 day <= $until::timestamp)
),

calls as (
    select calls.call_id, known.final_cause
    from marts.calls
    inner join known on known.episode_id = coalesce(calls.episode_id, calls.call_id)
)

select
    checks.check_code,
    calls.final_cause as cause,
    count(*) as made,
    count_if(coalesce(checks.finding = 'fault', false))::bigint as found,
    coalesce(sum(checks.minutes), 0) as minutes_sum,
    count(checks.minutes) as minutes_made
from marts.checks
inner join calls on calls.call_id = checks.call_id
where checks.check_code is not null
group by checks.check_code, calls.final_cause
order by checks.check_code, calls.final_cause;
