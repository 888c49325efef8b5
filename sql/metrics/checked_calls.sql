-- Repairs and what became of them in the end, whatever is chosen: one row per repair, in order of row_id.
-- came_back: within 30 days for the same kind of complaint, as strings of returns are joined, whatever a page shows.
-- valve_fitted: one of $valve_parts was fitted. Of its string of returns: place, last_closed_at (of the last completed call),
-- held and final_cause; all null for a repair of a string without a completed call.
-- Columns: row_id (of marts.calls), unit_hash, technician, symptom_set, cause, came_back, valve_fitted, place, last_closed_at, held,
-- final_cause.
with valve_sets as (
    select part_set from marts.part_sets where list_has_any(parts, $valve_parts::varchar[])
)

select
    calls.rowid as row_id,
    calls.unit_hash,
    calls.technician,
    calls.symptom_set,
    calls.cause,
    (calls.came_back_bits & 4) <> 0 as came_back,
    valve_sets.part_set is not null as valve_fitted,
    episodes.place,
    episodes.last_closed_at,
    episodes.held,
    episodes.final_cause
from marts.calls
left join marts.episodes on episodes.episode_id = coalesce(calls.episode_id, calls.call_id)
left join valve_sets on valve_sets.part_set = calls.part_set
where calls.standing <> 'not_a_repair'
order by row_id;
