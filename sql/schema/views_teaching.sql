-- teaching: what was thought first against what it turned out to be. A view over marts, read by the questions of the trainer.

create view marts.diagnoses as             -- one row per string of returns: its first call's diagnosis, and what it came to
select
    episodes.episode_id,                   -- call_id of the first call
    episodes.place,
    episodes.opened_at,
    episodes.last_call_id,
    episodes.last_closed_at,               -- mature 30 days later, when the answer is known
    episodes.calls,
    episodes.held,
    episodes.confirmed,
    first_calls.unit_hash,
    first_calls.depot,
    first_calls.diagnosis_technician as technician, -- who first recorded a diagnosis; null: not known
    first_calls.closed_at as first_closed_at,
    first_calls.symptom_set,
    first_calls.product_family,
    first_calls.supply,
    first_calls.filter_age_band,
    first_calls.installed_on,
    coalesce(first_calls.first_diagnosis, first_calls.cause) as first_thought, -- null: none recorded or recognised
    episodes.final_cause,                  -- null: unknown
    case
        when episodes.final_cause is null or first_thought is null then null
        when first_thought = episodes.final_cause then 'right'
        when not coalesce(thoughts.can_be_final, true) then 'none_found'
        when goes_deeper.cause is not null then 'went_deeper'
        else 'different'
    end as standing                        -- null: not known; none_found: no fault found, customer shown, passed on
from marts.episodes
inner join marts.calls as first_calls on first_calls.call_id = episodes.episode_id
left join catalogue.causes as thoughts on thoughts.code = coalesce(first_calls.first_diagnosis, first_calls.cause)
left join catalogue.goes_deeper
    on goes_deeper.cause = episodes.final_cause
    and goes_deeper.than = coalesce(first_calls.first_diagnosis, first_calls.cause);
