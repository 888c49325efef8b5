-- Who records checks, whatever is chosen: one row per technician (null: not recorded), over all repairs of the records.
-- Counted are visits at which somebody let us in, of the technician who was first to arrive; a visit has checks where one is
-- recorded for it, for a helper's record that is taken together with it, or for its call without naming a visit. Of a
-- technician without any visit, completed repairs stand in for visits.
-- Columns: technician, visits, with_checks.
with repairs as (
    select call_id, technician, is_completed from marts.calls where standing <> 'not_a_repair'
),

visits_checked as (
    select distinct visit_id from records.checks where withdrawn_by is null and visit_id is not null
),

calls_checked as (
    select distinct call_id from records.checks where withdrawn_by is null and visit_id is null
),

-- further records of visits with several: the visit that had begun when they arrived
helped as (
    select distinct visits.visit_id
    from (
        select records.visits.call_id, records.visits.arrived_at
        from records.visits
        semi join visits_checked on visits_checked.visit_id = records.visits.visit_id
        anti join marts.visits on marts.visits.visit_id = records.visits.visit_id
        where records.visits.withdrawn_by is null
    ) as further
    asof join (from marts.visits where records > 1) as visits
        on visits.call_id = further.call_id and further.arrived_at >= visits.arrived_at
),

made as (
    select
        visits.technician,
        visits_checked.visit_id is not null or helped.visit_id is not null or calls_checked.call_id is not null as checked
    from marts.visits
    semi join repairs on repairs.call_id = visits.call_id
    left join visits_checked on visits_checked.visit_id = visits.visit_id
    left join helped on helped.visit_id = visits.visit_id
    left join calls_checked on calls_checked.call_id = visits.call_id
    where visits.let_in
    union all
    select repairs.technician, calls_checked.call_id is not null
    from repairs
    anti join marts.visits on marts.visits.technician is not distinct from repairs.technician
    left join calls_checked on calls_checked.call_id = repairs.call_id
    where repairs.is_completed
)

select technician, count(*) as visits, count_if(checked)::bigint as with_checks
from made
group by technician
order by technician;
