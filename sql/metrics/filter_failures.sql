-- Failures, to be set against the age of the filter: filter_failures has one row per failure and measure. Temporary.
-- A failure is the first call of an episode: a repair call, no duplicate, no return trip, no callback of another by same
-- family within 30 days. Measures: began (day: when the trouble began, opening minus duration told, the opening where none
-- is told); called (day: of the call).
-- Columns: measure, call_row (of marts.calls), unit (hash of unit_id), symptom_set, flow_linked, cause_known
-- (a final cause is known), callbacks (further calls of the episode), day, untold (no duration told).
create or replace temp table filter_failures as
with durations as (
    select text, day, days_ago, since_new from texts.amounts where field = 'problem_duration'
),

first_of_episodes as (
    select
        calls.rowid as call_row,
        calls.unit_hash as unit,
        calls.symptom_set,
        coalesce(episodes.flow_linked, false) as flow_linked,
        episodes.final_cause is not null as cause_known,
        coalesce(episodes.calls, 1) - 1 as callbacks,
        calls.opened_at::date as called_on,
        if(durations.since_new, calls.installed_on, coalesce(durations.day, calls.opened_at::date - durations.days_ago))
            as told_on
    from marts.calls
    inner join records.calls as rows on rows.call_id = calls.call_id and rows.withdrawn_by is null
    left join marts.episodes on episodes.episode_id = calls.call_id
    left join durations on durations.text = rows.problem_duration
    where calls.standing not in ('not_a_repair', 'duplicate')
        and calls.return_trip_of is null
        and (calls.episode_id is null or calls.episode_id = calls.call_id)
)

select
    'began' as measure, call_row, unit, symptom_set, flow_linked, cause_known, callbacks,
    least(coalesce(told_on, called_on), called_on) as day, told_on is null as untold
from first_of_episodes
union all
select 'called', call_row, unit, symptom_set, flow_linked, cause_known, callbacks, called_on, false
from first_of_episodes;
