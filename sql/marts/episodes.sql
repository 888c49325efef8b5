-- marts.episodes: one row per string of calls joined by callbacks, always 30 days and same family; a completed call
-- that nothing joins is an episode of its own. call_episodes: call_row and root_row of every call in one. Temporary.
create or replace temp table call_episodes as
select call_row, root_row from episode_roots
union all
select distinct root_row, root_row from episode_roots
union all
select call_row, call_row
from closings
where call_row not in (select call_row from episode_roots)
    and call_row not in (select root_row from episode_roots);

create or replace temp table strings as
with several as (
    select
        root_row,
        count(*)::integer as calls,
        min(calls.opened_at) as opened_at,
        arg_max(calls.call_row, (calls.closed_at, calls.opened_at, calls.call_id)) filter (calls.is_completed)
            as last_row
    from call_episodes
    inner join coded_calls as calls on calls.call_row = call_episodes.call_row
    where root_row in (select root_row from episode_roots)
    group by root_row
),

alone as (
    select
        closings.call_row as root_row,
        1 as calls,
        closings.opened_at,
        closings.call_row as last_row
    from closings
    where closings.call_row not in (select call_row from episode_roots)
        and closings.call_row not in (select root_row from episode_roots)
)

select * from several
union all
select * from alone;

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
    select
        coalesce(visit_records.call_row, calls.call_row) as call_row,
        check_codes.code as check_code
    from scope_checks as checks
    inner join one_code as findings
        on findings.field = 'finding' and findings.text = checks.finding and findings.code = 'fault'
    inner join one_code as check_codes on check_codes.field = 'check' and check_codes.text = checks."check"
    left join visit_records on visit_records.visit_id = checks.visit_id
    left join coded_calls as calls on calls.call_id = checks.call_id
)

select distinct final_causes.root_row
from faults
inner join call_episodes on call_episodes.call_row = faults.call_row
inner join final_causes on final_causes.root_row = call_episodes.root_row
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
inner join call_episodes
    on call_episodes.root_row = final_causes.root_row and call_episodes.call_row <> final_causes.last_row
inner join coded_calls as last_call on last_call.call_row = final_causes.last_row
inner join coded_calls as calls
    on calls.call_row = call_episodes.call_row
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
    first_call.unit_id,
    places.place,
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
inner join places on places.source = last_call.source and places.depot = coalesce(last_call.depot, '')
left join final_causes on final_causes.root_row = strings.root_row
left join found on found.root_row = strings.root_row
left join mended on mended.root_row = strings.root_row
left join courses on courses.root_row = strings.root_row
left join came_back on came_back.charged_row = strings.last_row;
