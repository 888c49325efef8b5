-- visit_records: one row per live visit record of the calls in scope. Temporary.
-- marts.visits: one row per visit. Records of one call that overlap in time are one visit with a helper: a record
-- belongs to the visit before it when it arrives before everybody of that visit has left, or at the same minute.
-- A record without a leaving time covers its arrival only; one without a time of day overlaps nothing.
create or replace temp table visit_records as
with results as (
    select codings.text, visit_results.*
    from texts.codings
    inner join catalogue.visit_results on visit_results.code = codings.codes[1]
    where codings.field = 'visit_result'
)

select
    calls.call_row,
    calls.call_id,
    calls.unit_hash,
    visits.visit_id,
    visits.technician_id as technician,
    visits.helper_id,
    visits.arrived_at,
    visits.arrived_has_time,
    greatest(visits.left_at, visits.arrived_at) as left_at,
    results.code as result,
    coalesce(results.work_done, true) as work_done,
    coalesce(results.let_in, true) as let_in,
    coalesce(results.waits_for_part, false) as waits_for_part
from scope_visits as visits
inner join coded_calls as calls on calls.call_id = visits.call_id
left join results on results.text = visits.result;

create or replace temp table calls_with_several_records as
select call_row from visit_records group by call_row having count(*) > 1;

-- the records of calls that have several, in order, and whether each joins the visit before it
create or replace temp table several_records as
with in_order as (
    select
        records.*,
        row_number() over in_call as record_number,
        max(if(arrived_has_time, coalesce(left_at, arrived_at), null)) over before as others_left_at,
        max(if(arrived_has_time, arrived_at, null)) over before as others_arrived_at
    from visit_records as records
    semi join calls_with_several_records as several on several.call_row = records.call_row
    window
        in_call as (partition by records.call_row order by arrived_at, visit_id),
        before as (
            partition by records.call_row order by arrived_at, visit_id
            rows between unbounded preceding and 1 preceding
        )
)

select
    * exclude (others_left_at, others_arrived_at),
    arrived_has_time
    and coalesce(arrived_at < others_left_at or arrived_at = others_arrived_at, false) as joins_the_one_before
from in_order;

create or replace temp table calls_with_helpers as
select distinct call_row from several_records where joins_the_one_before;

-- coded_visits: one row per visit, with the number of its call in this build
create or replace temp table coded_visits as
with numbered as (
    select
        records.*,
        count_if(not joins_the_one_before) over (partition by records.call_row order by record_number) as visit_number
    from several_records as records
    semi join calls_with_helpers as helped on helped.call_row = records.call_row
)

select
    * exclude (unit_hash, helper_id),
    1 as visit_number,
    1 as records,
    helper_id as helpers
from visit_records
anti join calls_with_several_records as several on several.call_row = visit_records.call_row
union all by name
select
    * exclude (unit_hash, helper_id, record_number, joins_the_one_before),
    record_number as visit_number,
    1 as records,
    helper_id as helpers
from several_records
anti join calls_with_helpers as helped on helped.call_row = several_records.call_row
union all by name
select
    call_row,
    any_value(call_id) as call_id,
    visit_number,
    arg_min(visit_id, record_number) as visit_id,
    count(*) as records,
    arg_min(technician, record_number) as technician,
    string_agg(distinct coalesce(if(joins_the_one_before, technician, null), helper_id), ', ') as helpers,
    min(arrived_at) as arrived_at,
    bool_or(arrived_has_time) as arrived_has_time,
    max(left_at) as left_at,
    arg_min(result, record_number) as result,
    bool_or(work_done) as work_done,
    bool_or(let_in) as let_in,
    bool_or(waits_for_part) as waits_for_part
from numbered
group by call_row, visit_number;

insert into marts.visits by name
select * exclude (call_row) from coded_visits;
