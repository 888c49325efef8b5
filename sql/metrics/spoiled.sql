-- What spoils first-time fix: one row a reason, among calls judged and not fixed the first time.
-- Columns: reason, calls (the first reason that applies, in this order), calls_any (all that it applies to).
with spoiled as (
    select
        came_back,
        waited_for_part as part,
        first_diagnosis_wrong as diagnosis,
        no_access_visits > 0 as no_access
    from marts.subset(
        'not_first_time_fix', $days_bit, $window_bit, $cutoffs, $as_of_end, $closed_from, $closed_before,
        $depots, $technicians, $causes, $product_families, $symptom_sets, $part_sets
    )
),

counted as (
    select came_back, part, diagnosis, no_access, count(*) as calls
    from spoiled
    group by all
)

select 'came_back' as reason, sum(calls) filter (came_back) as calls, sum(calls) filter (came_back) as calls_any
from counted
union all
select 'part', sum(calls) filter (part and not came_back), sum(calls) filter (part)
from counted
union all
select 'diagnosis', sum(calls) filter (diagnosis and not part and not came_back), sum(calls) filter (diagnosis)
from counted
union all
select
    'no_access',
    sum(calls) filter (no_access and not diagnosis and not part and not came_back),
    sum(calls) filter (no_access)
from counted
union all
select
    'other',
    sum(calls) filter (not (no_access or diagnosis or part or came_back)),
    sum(calls) filter (not (no_access or diagnosis or part or came_back))
from counted;
