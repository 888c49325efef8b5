-- Calls in which texts of one field stand, up to $most for each text, the latest first. Grain: one row per text and call.
-- Columns: text, call_id, opened_at, complaint, root_cause. Binds $field, $texts, $most.
with wanted as (select unnest($texts::varchar[]) as text),
written as (
    select
        call_id,
        unnest(
            case $field
                when 'root_cause' then [root_cause, first_diagnosis]
                when 'complaint' then [complaint]
                when 'outcome' then [outcome]
                when 'job_kind' then [job_kind]
                when 'payer' then [payer]
                when 'callback_flag' then [callback_flag]
                when 'filter_last_changed' then [filter_last_changed]
                when 'filter_kind' then [filter_kind]
                when 'unit_age' then [unit_age]
                when 'problem_duration' then [problem_duration]
                when 'mould_state' then [mould_state]
                when 'dispenser_flow' then [dispenser_flow]
                when 'fill_tube_ice' then [fill_tube_ice]
                when 'switch_on' then [switch_on]
                when 'freezer_temperature' then [freezer_temperature]
                when 'supply_type' then [supply_type]
                when 'shutoff_valve' then [shutoff_valve]
                when 'what_changed' then [what_changed]
                when 'where_it_stands' then [where_it_stands]
                when 'already_tried' then [already_tried]
                else []
            end
        ) as text
    from records.calls
    where withdrawn_by is null and $field not in ('visit_result', 'check', 'check_state', 'finding', 'part')
    union
    select call_id, result from records.visits where $field = 'visit_result' and withdrawn_by is null
    union
    select coalesce(checks.call_id, visits.call_id), unnest(case $field when 'check' then [checks."check"]
        when 'check_state' then [checks.state] when 'finding' then [checks.finding] else [] end)
    from records.checks
    left join records.visits on visits.visit_id = checks.visit_id and visits.withdrawn_by is null
    where $field in ('check', 'check_state', 'finding') and checks.withdrawn_by is null
    union
    select coalesce(parts.call_id, visits.call_id), parts.part
    from records.parts
    left join records.visits on visits.visit_id = parts.visit_id and visits.withdrawn_by is null
    where $field = 'part' and parts.withdrawn_by is null
)
select written.text, calls.call_id, calls.opened_at, calls.complaint, calls.root_cause
from written
join wanted using (text)
join records.calls on calls.call_id = written.call_id and calls.withdrawn_by is null
qualify row_number() over (partition by written.text order by calls.opened_at desc, calls.call_id) <= $most
order by written.text, calls.opened_at desc, calls.call_id;
