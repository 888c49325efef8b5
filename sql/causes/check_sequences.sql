-- check_sequences: the checks made on the first visit of calls, in order. One row a call of $call_ids with at least one check.
-- Columns: call_id, checks (codes, in the order recorded; each once). A check without a visit counts as of the first.
with wanted as (
    select unnest($call_ids::varchar[]) as call_id
),

made as (
    select
        checks.call_id,
        checks.check_code,
        visits.arrived_at,
        checks.sequence
    from marts.checks
    semi join wanted on wanted.call_id = checks.call_id
    left join records.visits on visits.visit_id = checks.visit_id and visits.withdrawn_by is null
    where checks.check_code is not null
),

firsts as (
    select call_id, min(arrived_at) as arrived_at from made group by call_id
),

in_order as (
    select made.call_id, made.check_code, min(made.sequence) as sequence
    from made
    inner join firsts on firsts.call_id = made.call_id
    where made.arrived_at is null or made.arrived_at = firsts.arrived_at
    group by made.call_id, made.check_code
)

select call_id, list(check_code order by sequence nulls last, check_code) as checks
from in_order
group by call_id
order by call_id;
