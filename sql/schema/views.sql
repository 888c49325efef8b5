-- views: checks and parts as codes, read from the records themselves.

create view marts.checks as                -- one row per check made, coded; reading is in reading_unit, as written
with one_code as (
    select field, text, codes[1] as code from texts.codings where len(codes) > 0
)

select
    coalesce(checks.call_id, visits.call_id) as call_id,
    checks.visit_id,
    checks.sequence,
    check_codes.code as check_code,        -- null where not recognised
    findings.code as finding,              -- fault, no_fault, inconclusive
    states.code as state,                  -- still, flowing
    checks.reading,
    checks.reading_unit,
    checks.minutes
from records.checks
left join records.visits on visits.visit_id = checks.visit_id and visits.withdrawn_by is null
left join one_code as check_codes on check_codes.field = 'check' and check_codes.text = checks."check"
left join one_code as findings on findings.field = 'finding' and findings.text = checks.finding
left join one_code as states on states.field = 'check_state' and states.text = checks.state
where checks.withdrawn_by is null;

create view marts.parts as                 -- one row per part fitted, coded
select
    coalesce(parts.call_id, visits.call_id) as call_id,
    parts.visit_id,
    codings.codes[1] as part,              -- code; null where not recognised
    parts.quantity,
    parts.cost
from records.parts
left join records.visits on visits.visit_id = parts.visit_id and visits.withdrawn_by is null
left join texts.codings on codings.field = 'part' and codings.text = parts.part
where parts.withdrawn_by is null;
