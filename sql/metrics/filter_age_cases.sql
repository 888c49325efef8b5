-- Failures alone by the age of the filter, and what was told against what was recorded: one row per measure and what.
-- A failure is the first call of an episode, as in metrics/filter_months, of any unit; the age is that of the marts, told
-- or recorded, whichever is later; where no duration is told, began takes the age at the call.
-- Measures: began, called (by band of the age when the trouble began, and at the call); answer (never, dont_know, blank,
-- not_recognised, given: to when the filter was last changed); told (against recorded: within_30_days, later, earlier by
-- more, with the median days between).
-- Columns: measure, what, number (failures), flow_linked (of them with a flow-linked final cause), known (with a final
-- cause), median_days (null but for told).
with failures as (
    select
        if(
            durations.text is null or (durations.day is null and durations.days_ago is null and not durations.since_new),
            calls.filter_age_band,
            calls.filter_age_began_band
        ) as filter_age_began_band,
        calls.filter_age_band,
        calls.filter_told_later_days as later_days,
        coalesce(episodes.flow_linked, false) as flow_linked,
        episodes.final_cause is not null as is_known,
        case
            when rows.filter_last_changed is null then 'blank'
            when answers.code is null then 'not_recognised'
            when answers.code in ('never', 'dont_know') then answers.code
            else 'given'
        end as answer
    from marts.calls
    inner join records.calls as rows on rows.call_id = calls.call_id and rows.withdrawn_by is null
    left join marts.episodes on episodes.episode_id = calls.call_id
    left join texts.amounts as answers
        on answers.field = 'filter_last_changed' and answers.text = rows.filter_last_changed
    left join texts.amounts as durations
        on durations.field = 'problem_duration' and durations.text = rows.problem_duration
    where calls.standing not in ('not_a_repair', 'duplicate')
        and calls.return_trip_of is null
        and (calls.episode_id is null or calls.episode_id = calls.call_id)
),

named as (
    select 'began' as measure, filter_age_began_band as what, flow_linked, is_known, null as later_days from failures
    union all
    select 'called', filter_age_band, flow_linked, is_known, null from failures
    union all
    select 'answer', answer, flow_linked, is_known, null from failures
    union all
    select
        'told',
        case when abs(later_days) <= 30 then 'within_30_days' when later_days > 0 then 'later' else 'earlier' end,
        flow_linked, is_known, abs(later_days)
    from failures
    where later_days is not null
)

select
    measure,
    what,
    count(*) as number,
    count(*) filter (where flow_linked) as flow_linked,
    count(*) filter (where is_known) as known,
    median(later_days) as median_days
from named
group by measure, what
order by measure, what;
