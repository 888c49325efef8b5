-- marts.episodes: one row per string of calls joined by callbacks, always 30 days and same family; a completed call
-- that nothing joins is an episode of its own. joined_calls: the calls of strings of several; temporary, like the rest.
create or replace temp table joined_calls as
select call_row, root_row from episode_roots
union all
select distinct root_row, root_row from episode_roots;

create or replace temp table strings as
select
    joined_calls.root_row,
    count(*)::integer as calls,
    min(calls.opened_at) as opened_at,
    arg_max(calls.call_row, (calls.closed_at, calls.opened_at, calls.call_id)) filter (calls.is_completed) as last_row
from joined_calls
inner join coded_calls as calls on calls.call_row = joined_calls.call_row
group by joined_calls.root_row
union all
select closings.call_row, 1, closings.opened_at, closings.call_row
from closings
anti join joined_calls on joined_calls.call_row = closings.call_row;

-- final causes: the recognised cause of the last completed call, never one that the catalogue says is none
create or replace temp table final_causes as
select strings.root_row, strings.last_row, causes.code as final_cause, causes.flow_linked
from strings
inner join coded_calls as calls on calls.call_row = strings.last_row
inner join catalogue.causes on causes.code = calls.cause and causes.can_be_final;

-- found: episodes in which a check that reveals the final cause found a fault
create or replace temp table found as
with one_code as (
    select field, text, codes[1] as code from texts.codings where len(codes) > 0
),

faults as (
    select checks.visit_id, checks.call_id, check_codes.code as check_code
    from scope_checks as checks
    inner join one_code as findings
        on findings.field = 'finding' and findings.text = checks.finding and findings.code = 'fault'
    inner join one_code as check_codes on check_codes.field = 'check' and check_codes.text = checks."check"
),

faults_of_calls as (
    select visit_records.call_row, faults.check_code
    from faults
    inner join visit_records on visit_records.visit_id = faults.visit_id
    union all
    select calls.call_row, faults.check_code
    from (from faults where visit_id is null) as faults
    inner join coded_calls as calls on calls.call_id = faults.call_id
)

select distinct final_causes.root_row
from faults_of_calls as faults
left join joined_calls on joined_calls.call_row = faults.call_row
inner join final_causes on final_causes.root_row = coalesce(joined_calls.root_row, faults.call_row)
semi join catalogue.reveals
    on reveals.check_code = faults.check_code and reveals.cause = final_causes.final_cause;

-- mended: episodes on whose last call one part alone was fitted, one that answers the final cause
create or replace temp table mended as
select final_causes.root_row
from final_causes
inner join call_parts on call_parts.call_row = final_causes.last_row
inner join marts.part_sets on part_sets.part_set = call_parts.part_set
semi join catalogue.part_answers
    on part_answers.part = part_sets.parts[1] and part_answers.cause = final_causes.final_cause
where len(part_sets.parts) = 1;

-- courses: how the causes of the earlier calls stand to the final one
create or replace temp table courses as
select
    final_causes.root_row,
    case
        when bool_or(calls.cause <> final_causes.final_cause and goes_deeper.cause is null) then 'different'
        when bool_or(goes_deeper.cause is not null) then 'went deeper'
        else 'same'
    end as course
from final_causes
inner join joined_calls
    on joined_calls.root_row = final_causes.root_row and joined_calls.call_row <> final_causes.last_row
inner join coded_calls as last_call on last_call.call_row = final_causes.last_row
inner join coded_calls as calls
    on calls.call_row = joined_calls.call_row
    and (calls.opened_at, calls.call_id) < (last_call.opened_at, last_call.call_id)
inner join catalogue.causes as earlier on earlier.code = calls.cause and earlier.can_be_final
left join catalogue.goes_deeper
    on goes_deeper.cause = final_causes.final_cause and goes_deeper.than = calls.cause
group by final_causes.root_row;

insert into marts.episodes by name
with came_back as (
    select distinct charged_row from charges where match = 'family' and (window_bits & 4) <> 0
)

select
    first_call.call_id as episode_id,
    last_call.place,
    strings.calls,
    strings.opened_at,
    last_call.call_id as last_call_id,
    last_call.closed_at as last_closed_at,
    came_back.charged_row is null as held,
    final_causes.final_cause,
    coalesce(final_causes.flow_linked, false) as flow_linked,
    case
        when final_causes.final_cause is not null
            then found.root_row is not null or (mended.root_row is not null and came_back.charged_row is null)
    end as confirmed,
    courses.course
from strings
inner join coded_calls as first_call on first_call.call_row = strings.root_row
inner join coded_calls as last_call on last_call.call_row = strings.last_row
left join final_causes on final_causes.root_row = strings.root_row
left join found on found.root_row = strings.root_row
left join mended on mended.root_row = strings.root_row
left join courses on courses.root_row = strings.root_row
left join came_back on came_back.charged_row = strings.last_row;
