-- Repairs closed from $closed_from to before $closed_before on which no proof was seen, to ring up: one row a call, latest first.
-- Proof: a check in $proof_checks whose finding is not a fault, or the customer's answer afterwards that it works. Repairs
-- that came back until $until are left out: somebody rang already.
-- Columns: call_id, unit_id, depot, symptoms, closed_at, closed_has_time, cause, parts, checks (recorded on it), told (what the
-- customer answered so far: partly, no, not_reached; null where nobody asked).
with fresh as (
    select *
    from marts.calls
    where is_completed
        and closed_at >= $closed_from::timestamp
        and closed_at < $closed_before::timestamp
        and closed_at <= $until::timestamp
),

came_back as (
    select charged_call_id
    from marts.returns
    where return_opened_at between $closed_from::timestamp and $until::timestamp
),

visits as (
    select visits.visit_id, visits.call_id
    from records.visits
    semi join fresh on fresh.call_id = visits.call_id
    where visits.withdrawn_by is null
),

made as (
    select visits.call_id, checks."check", checks.finding
    from records.checks
    inner join visits on visits.visit_id = checks.visit_id
    where checks.withdrawn_by is null
    union all
    select checks.call_id, checks."check", checks.finding
    from records.checks
    semi join fresh on fresh.call_id = checks.call_id
    where checks.withdrawn_by is null and checks.visit_id is null
),

proofs as (
    select
        made.call_id,
        count(*) as checks,
        bool_or(
            list_contains($proof_checks::varchar[], check_codes.codes[1])
            and coalesce(findings.codes[1] <> 'fault', true)
        ) as proved
    from made
    left join texts.codings as check_codes on check_codes.field = 'check' and check_codes.text = made."check"
    left join texts.codings as findings on findings.field = 'finding' and findings.text = made.finding
    group by made.call_id
)

select
    fresh.call_id,
    fresh.unit_id,
    fresh.depot,
    symptom_sets.symptoms,
    fresh.closed_at,
    fresh.closed_has_time,
    fresh.cause,
    part_sets.parts,
    coalesce(proofs.checks, 0) as checks,
    if(fresh.follow_up_on <= $until::timestamp::date, fresh.follow_up, null) as told
from fresh
anti join came_back on came_back.charged_call_id = fresh.call_id
left join proofs on proofs.call_id = fresh.call_id
inner join marts.symptom_sets on symptom_sets.symptom_set = fresh.symptom_set
inner join marts.part_sets on part_sets.part_set = fresh.part_set
where not coalesce(proofs.proved, false)
    and not coalesce(fresh.follow_up = 'works' and fresh.follow_up_on <= $until::timestamp::date, false)
order by fresh.closed_at desc, fresh.call_id
limit $most;
