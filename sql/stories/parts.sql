-- Parts fitted on the calls in $call_ids; each beside the words it was written in.
-- Columns: call_id, visit_id, at, has_time, technician (of the visit), part (code), part_label, written, is_filter,
-- quantity, cost.
with visits as (
    select visit_id, call_id, arrived_at, arrived_has_time, technician_id
    from records.visits
    where withdrawn_by is null and call_id in (select unnest($call_ids::varchar[]))
),

fitted as (
    select parts.*, visits.call_id as known_call_id, visits.arrived_at, visits.arrived_has_time, visits.technician_id
    from records.parts
    inner join visits on visits.visit_id = parts.visit_id
    where parts.withdrawn_by is null
    union all
    select parts.*, parts.call_id, null, null, null
    from records.parts
    where parts.withdrawn_by is null
        and parts.visit_id is null
        and parts.call_id in (select unnest($call_ids::varchar[]))
)

select
    fitted.known_call_id as call_id,
    fitted.visit_id,
    fitted.arrived_at as at,
    fitted.arrived_has_time as has_time,
    fitted.technician_id as technician,
    codings.codes[1] as part,
    coalesce(parts.label, fitted.part) as part_label,
    fitted.part as written,
    coalesce(parts.is_filter, false) as is_filter,
    fitted.quantity,
    fitted.cost
from fitted
left join texts.codings on codings.field = 'part' and codings.text = fitted.part
left join catalogue.parts on parts.code = codings.codes[1]
order by fitted.arrived_at nulls last, fitted.part, fitted.occurrence;
