-- Strings of returns that begin with one of the calls in $call_ids, latest first. Columns: episode_id, calls, opened_at, last_closed_at, final_cause,
-- confirmed, course, mature (30 days have passed since its last completed call was closed).
select
    episodes.episode_id,
    episodes.calls,
    episodes.opened_at,
    episodes.last_closed_at,
    episodes.final_cause,
    episodes.confirmed,
    episodes.course,
    episodes.last_closed_at + interval 30 day <= ends.ends_at as mature
from marts.episodes
inner join marts.observation_ends as ends on ends.place = episodes.place
where episodes.episode_id in (select unnest($call_ids::varchar[]))
order by episodes.opened_at desc;
