-- Checks of $checks and parts of $parts on the first visit of repairs: one row a check or part, in no order. A first visit is the
-- first at which somebody let us in; what is recorded for a call without naming its visit counts too, and so does what a helper
-- recorded until the second visit began.
-- Columns: row_id (of marts.calls), what (check, part), code.
with let_in as (
    select
        visits.call_id,
        visits.arrived_at,
        row_number() over (partition by visits.call_id order by visits.arrived_at, visits.visit_number) as place_in_call
    from marts.visits
    inner join marts.calls on calls.call_id = visits.call_id
    where visits.let_in and calls.visits > 1
),

second_visits as (
    select call_id, arrived_at from let_in where place_in_call = 2
),

recorded as (
    select call_id, visit_id, 'check' as what, check_code as code
    from marts.checks
    where list_contains($checks::varchar[], check_code)
    union all
    select call_id, visit_id, 'part' as what, part as code
    from marts.parts
    where list_contains($parts::varchar[], part)
)

select
    calls.rowid::integer as row_id,
    recorded.what,
    recorded.code
from recorded
inner join marts.calls on calls.call_id = recorded.call_id
left join second_visits on second_visits.call_id = recorded.call_id
left join records.visits on visits.visit_id = recorded.visit_id and visits.withdrawn_by is null
where calls.standing <> 'not_a_repair'
    and (second_visits.arrived_at is null or visits.arrived_at is null or visits.arrived_at < second_visits.arrived_at);
