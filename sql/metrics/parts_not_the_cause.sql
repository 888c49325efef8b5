-- Parts that were not the cause, whatever is chosen: one row per part fitted on a call before the last completed one of its
-- string of returns, where that call's cause, the final one, is known and the part does not answer it. Parts that are
-- not recognised can not be told, and are rows without a part.
-- Columns: row_id (of the first call of the string, in marts.calls), part (code; null: not recognised), quantity, cost (null:
-- not recorded).
with earlier as (
    select
        calls.call_id,
        first_calls.rowid as row_id,
        episodes.final_cause
    from marts.episodes
    inner join marts.calls as first_calls on first_calls.call_id = episodes.episode_id
    inner join marts.calls as last_calls on last_calls.call_id = episodes.last_call_id
    inner join marts.calls on calls.episode_id = episodes.episode_id
    where episodes.calls > 1
        and episodes.final_cause is not null
        and (calls.opened_at, calls.call_id) < (last_calls.opened_at, last_calls.call_id)
)

select
    earlier.row_id::integer as row_id,
    parts.part,
    parts.quantity,
    parts.cost
from marts.parts
inner join earlier on earlier.call_id = parts.call_id
anti join catalogue.part_answers
    on part_answers.part = parts.part and part_answers.cause = earlier.final_cause
order by earlier.row_id, parts.part;
