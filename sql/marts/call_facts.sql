-- call_visits, call_checks: one row per call in scope that has any. Temporary; marts.calls takes them over.
create or replace temp table call_visits as
select
    calls.call_row,
    count(*)::integer as visits,
    count_if(not visits.let_in)::integer as no_access_visits,
    bool_or(visits.waits_for_part) as waited_for_part,
    arg_max(visits.technician, visits.visit_number) filter (visits.work_done) as repair_technician,
    arg_min(visits.technician, visits.visit_number) filter (visits.let_in) as diagnosis_technician,
    max(coalesce(visits.left_at, visits.arrived_at)) as last_visit_end,
    bool_and(visits.arrived_has_time) as visits_have_times
from marts.visits
inner join coded_calls as calls on calls.call_id = visits.call_id
group by calls.call_row;

create or replace temp table call_checks as
select
    coalesce(visit_records.call_row, calls.call_row) as call_row,
    bool_or(checks.reading is not null or checks.reading_text is not null) as has_reading
from scope_checks as checks
left join visit_records on visit_records.visit_id = checks.visit_id
left join coded_calls as calls on calls.call_id = checks.call_id
group by all;
