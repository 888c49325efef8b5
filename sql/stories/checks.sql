-- Checks made on the calls in $call_ids, in order; each beside the words it was written in.
-- Columns: call_id, visit_id, at (of the visit, null where not known), sequence, check (code), check_label, written,
-- caution (class a, b, c), reading, reading_text, reading_unit (as written), state, finding, finding_label, minutes.
with visits as (
    select visit_id, call_id, arrived_at, arrived_has_time, technician_id
    from records.visits
    where withdrawn_by is null and call_id in (select unnest($call_ids::varchar[]))
),

made as (
    select checks.*, visits.call_id as known_call_id, visits.arrived_at, visits.arrived_has_time, visits.technician_id
    from records.checks
    inner join visits on visits.visit_id = checks.visit_id
    where checks.withdrawn_by is null
    union all
    select checks.*, checks.call_id, null, null, null
    from records.checks
    where checks.withdrawn_by is null
        and checks.visit_id is null
        and checks.call_id in (select unnest($call_ids::varchar[]))
)

select
    made.known_call_id as call_id,
    made.visit_id,
    made.arrived_at as at,
    made.arrived_has_time as has_time,
    made.technician_id as technician,
    made.sequence,
    check_codes.codes[1] as "check",
    coalesce(checks.label, made."check") as check_label,
    made."check" as written,
    checks.caution,
    made.reading,
    made.reading_text,
    made.reading_unit,
    states.codes[1] as state,
    findings.codes[1] as finding,
    levels.label as finding_label,
    made.minutes
from made
left join texts.codings as check_codes on check_codes.field = 'check' and check_codes.text = made."check"
left join catalogue.checks on checks.code = check_codes.codes[1]
left join texts.codings as states on states.field = 'check_state' and states.text = made.state
left join texts.codings as findings on findings.field = 'finding' and findings.text = made.finding
left join catalogue.levels on levels.field = 'finding' and levels.code = findings.codes[1]
order by made.arrived_at nulls last, made.sequence nulls last, made.occurrence;
