-- marts.unrecognised: one row per text of a coded field that was not recognised, with how often it stands in the records.
-- What is written as the complaint of other jobs ("new unit, hook up") and of return trips is none, and is left out.
delete from marts.unrecognised;

insert into marts.unrecognised
with unrecognised as (
    select field, text from texts.codings where how = 'not recognised'
),

written as (
    select unrecognised.field, unrecognised.text
    from records.calls
    inner join unrecognised on unrecognised.field = 'complaint' and unrecognised.text = calls.complaint
    inner join marts.calls as coded on coded.call_id = calls.call_id
    where calls.withdrawn_by is null and coded.standing <> 'not_a_repair' and coded.return_trip_of is null
    union all
    select unrecognised.field, unrecognised.text
    from records.calls
    inner join unrecognised on unrecognised.field = 'root_cause' and unrecognised.text = calls.root_cause
    where calls.withdrawn_by is null
    union all
    select unrecognised.field, unrecognised.text
    from records.calls
    inner join unrecognised on unrecognised.field = 'root_cause' and unrecognised.text = calls.first_diagnosis
    where calls.withdrawn_by is null
    union all
    select unrecognised.field, unrecognised.text
    from records.calls
    inner join unrecognised on unrecognised.field = 'outcome' and unrecognised.text = calls.outcome
    where calls.withdrawn_by is null
    union all
    select unrecognised.field, unrecognised.text
    from records.calls
    inner join unrecognised on unrecognised.field = 'job_kind' and unrecognised.text = calls.job_kind
    where calls.withdrawn_by is null
    union all
    select unrecognised.field, unrecognised.text
    from records.calls
    inner join unrecognised on unrecognised.field = 'payer' and unrecognised.text = calls.payer
    where calls.withdrawn_by is null
    union all
    select unrecognised.field, unrecognised.text
    from records.calls
    inner join unrecognised on unrecognised.field = 'callback_flag' and unrecognised.text = calls.callback_flag
    where calls.withdrawn_by is null
    union all
    select unrecognised.field, unrecognised.text
    from records.calls
    inner join unrecognised on unrecognised.field = 'filter_last_changed' and unrecognised.text = calls.filter_last_changed
    where calls.withdrawn_by is null
    union all
    select unrecognised.field, unrecognised.text
    from records.calls
    inner join unrecognised on unrecognised.field = 'filter_kind' and unrecognised.text = calls.filter_kind
    where calls.withdrawn_by is null
    union all
    select unrecognised.field, unrecognised.text
    from records.calls
    inner join unrecognised on unrecognised.field = 'unit_age' and unrecognised.text = calls.unit_age
    where calls.withdrawn_by is null
    union all
    select unrecognised.field, unrecognised.text
    from records.calls
    inner join unrecognised on unrecognised.field = 'problem_duration' and unrecognised.text = calls.problem_duration
    where calls.withdrawn_by is null
    union all
    select unrecognised.field, unrecognised.text
    from records.calls
    inner join unrecognised on unrecognised.field = 'mould_state' and unrecognised.text = calls.mould_state
    where calls.withdrawn_by is null
    union all
    select unrecognised.field, unrecognised.text
    from records.calls
    inner join unrecognised on unrecognised.field = 'dispenser_flow' and unrecognised.text = calls.dispenser_flow
    where calls.withdrawn_by is null
    union all
    select unrecognised.field, unrecognised.text
    from records.calls
    inner join unrecognised on unrecognised.field = 'fill_tube_ice' and unrecognised.text = calls.fill_tube_ice
    where calls.withdrawn_by is null
    union all
    select unrecognised.field, unrecognised.text
    from records.calls
    inner join unrecognised on unrecognised.field = 'switch_on' and unrecognised.text = calls.switch_on
    where calls.withdrawn_by is null
    union all
    select unrecognised.field, unrecognised.text
    from records.calls
    inner join unrecognised on unrecognised.field = 'freezer_temperature' and unrecognised.text = calls.freezer_temperature
    where calls.withdrawn_by is null
    union all
    select unrecognised.field, unrecognised.text
    from records.calls
    inner join unrecognised on unrecognised.field = 'supply_type' and unrecognised.text = calls.supply_type
    where calls.withdrawn_by is null
    union all
    select unrecognised.field, unrecognised.text
    from records.calls
    inner join unrecognised on unrecognised.field = 'shutoff_valve' and unrecognised.text = calls.shutoff_valve
    where calls.withdrawn_by is null
    union all
    select unrecognised.field, unrecognised.text
    from records.calls
    inner join unrecognised on unrecognised.field = 'what_changed' and unrecognised.text = calls.what_changed
    where calls.withdrawn_by is null
    union all
    select unrecognised.field, unrecognised.text
    from records.calls
    inner join unrecognised on unrecognised.field = 'where_it_stands' and unrecognised.text = calls.where_it_stands
    where calls.withdrawn_by is null
    union all
    select unrecognised.field, unrecognised.text
    from records.calls
    inner join unrecognised on unrecognised.field = 'already_tried' and unrecognised.text = calls.already_tried
    where calls.withdrawn_by is null
    union all
    select unrecognised.field, unrecognised.text
    from records.visits
    inner join unrecognised on unrecognised.field = 'visit_result' and unrecognised.text = visits.result
    where visits.withdrawn_by is null
    union all
    select unrecognised.field, unrecognised.text
    from records.checks
    inner join unrecognised on unrecognised.field = 'check' and unrecognised.text = checks."check"
    where checks.withdrawn_by is null
    union all
    select unrecognised.field, unrecognised.text
    from records.checks
    inner join unrecognised on unrecognised.field = 'check_state' and unrecognised.text = checks.state
    where checks.withdrawn_by is null
    union all
    select unrecognised.field, unrecognised.text
    from records.checks
    inner join unrecognised on unrecognised.field = 'finding' and unrecognised.text = checks.finding
    where checks.withdrawn_by is null
    union all
    select unrecognised.field, unrecognised.text
    from records.parts
    inner join unrecognised on unrecognised.field = 'part' and unrecognised.text = parts.part
    where parts.withdrawn_by is null
    union all
    select unrecognised.field, unrecognised.text
    from records.units
    inner join unrecognised on unrecognised.field = 'ice_maker_kind' and unrecognised.text = units.ice_maker_kind
    where units.withdrawn_by is null
    union all
    select unrecognised.field, unrecognised.text
    from records.units
    inner join unrecognised on unrecognised.field = 'filter_kind' and unrecognised.text = units.filter_kind
    where units.withdrawn_by is null
    union all
    select unrecognised.field, unrecognised.text
    from records.units
    inner join unrecognised on unrecognised.field = 'supply_type' and unrecognised.text = units.water_supply
    where units.withdrawn_by is null
    union all
    select unrecognised.field, unrecognised.text
    from records.units
    inner join unrecognised on unrecognised.field = 'shutoff_valve' and unrecognised.text = units.shutoff_valve
    where units.withdrawn_by is null
    union all
    select unrecognised.field, unrecognised.text
    from records.units
    inner join unrecognised on unrecognised.field = 'where_it_stands' and unrecognised.text = units.location
    where units.withdrawn_by is null
    union all
    select unrecognised.field, unrecognised.text
    from records.follow_ups
    inner join unrecognised on unrecognised.field = 'follow_up_answer' and unrecognised.text = follow_ups.answer
    where follow_ups.withdrawn_by is null
)

select field, text, count(*)
from written
group by field, text;
