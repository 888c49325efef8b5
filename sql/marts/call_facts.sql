-- call_visits, call_checks: one row per call in scope that has any. Temporary; marts.calls takes them over.
create or replace temp table call_visits as
select
    call_row,
    1 as visits,
    (not let_in)::integer as no_access_visits,
    waits_for_part as waited_for_part,
    if(work_done, technician, null) as repair_technician,
    if(let_in, technician, null) as diagnosis_technician,
    coalesce(left_at, arrived_at) as last_visit_end,
    arrived_has_time as visits_have_times
from coded_visits
anti join calls_with_several_records as several on several.call_row = coded_visits.call_row
union all
select
    coded_visits.call_row,
    count(*) as visits,
    count_if(not let_in) as no_access_visits,
    bool_or(waits_for_part) as waited_for_part,
    arg_max(technician, visit_number) filter (work_done) as repair_technician,
    arg_min(technician, visit_number) filter (let_in) as diagnosis_technician,
    max(coalesce(left_at, arrived_at)) as last_visit_end,
    bool_and(arrived_has_time) as visits_have_times
from coded_visits
semi join calls_with_several_records as several on several.call_row = coded_visits.call_row
group by coded_visits.call_row;

create or replace temp table call_checks as
with made as (
    select visit_records.call_row, checks.reading is not null or checks.reading_text is not null as has_reading
    from scope_checks as checks
    inner join visit_records on visit_records.visit_id = checks.visit_id
    union all
    select calls.call_row, checks.reading is not null or checks.reading_text is not null
    from (from scope_checks where visit_id is null) as checks
    inner join coded_calls as calls on calls.call_id = checks.call_id
)

select call_row, bool_or(has_reading) as has_reading
from made
group by call_row;
