-- Which of the checks in $checks are on record for which unit, on calls of any kind.
-- One row per unit with any of them. Columns: unit_id, checks (codes, each once).
with wanted as (
    select text, codes[1] as code
    from texts.codings
    where field = 'check' and len(codes) > 0 and list_contains($checks::varchar[], codes[1])
),

made as (
    select checks.call_id, checks.visit_id, wanted.code
    from records.checks
    inner join wanted on wanted.text = checks."check"
    where checks.withdrawn_by is null
),

on_calls as (
    select call_id, code from made where call_id is not null
    union all
    select visits.call_id, made.code
    from made
    inner join records.visits on visits.visit_id = made.visit_id and visits.withdrawn_by is null
    where made.call_id is null
)

select calls.unit_id, list(distinct on_calls.code) as checks
from on_calls
inner join marts.calls on calls.call_id = on_calls.call_id
group by calls.unit_id;
