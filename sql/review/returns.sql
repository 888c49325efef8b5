-- Returns opened from $since to $until, one row a return beside the repair it is counted against, latest first; whether or
-- not the window of that repair has passed. The depot is that of the return.
-- Columns: return_call_id, return_opened_at, return_opened_has_time, days_between, unit_id, depot, return_symptoms,
-- return_standing (as of $until), call_id, closed_at, symptoms, cause, parts, visits, technician (of the earlier repair).
select
    returns.return_call_id,
    later.opened_at as return_opened_at,
    later.opened_has_time as return_opened_has_time,
    returns.gap_days as days_between,
    returns.unit_id,
    later.depot,
    later_symptoms.symptoms as return_symptoms,
    if(later.closed_at > $until::timestamp, 'open', later.standing) as return_standing,
    earlier.call_id,
    earlier.closed_at,
    earlier_symptoms.symptoms,
    earlier.cause,
    earlier_parts.parts,
    earlier.visits,
    earlier.technician
from marts.returns
inner join marts.calls as later on later.call_id = returns.return_call_id
inner join marts.calls as earlier on earlier.call_id = returns.charged_call_id
inner join marts.symptom_sets as later_symptoms on later_symptoms.symptom_set = later.symptom_set
inner join marts.symptom_sets as earlier_symptoms on earlier_symptoms.symptom_set = earlier.symptom_set
inner join marts.part_sets as earlier_parts on earlier_parts.part_set = earlier.part_set
where returns.match = $match
    and (returns.window_bits & $days_bit) <> 0
    and returns.return_opened_at between $since::timestamp and $until::timestamp
order by later.opened_at desc, returns.return_call_id
limit $most;
