-- The course of a filter, from its change on: one row per measure, group of units and age. Reads filter_spells, see
-- metrics/filter_time, and filter_failures, see metrics/filter_failures. Ages are days since the change.
-- Units stand in 256 groups by the hash of their number, so that what varies between units can be seen by drawing groups.
-- Measures: entering (filters first at risk at that age), leaving (last at risk at that age), failed (failures; what: all,
-- flow_linked, family:<code>), first (first failures of a filter; what: flow_linked, other_cause, unknown_cause), unfailed
-- (filters last at risk at that age without a failure).
-- Columns: measure, what, unit_group (0..255), age_days, number.
with spells as (
    select
        *,
        (unit & 255)::integer as unit_group,
        (from_on - known_on)::integer as from_days,
        (to_on - known_on)::integer as to_days
    from filter_spells
),

failed as (
    select
        spells.unit, spells.known_on, spells.unit_group, failures.symptom_set, failures.flow_linked, failures.cause_known,
        failures.call_row, (failures.day - spells.known_on)::integer as age_days
    from filter_failures as failures
    inner join spells on spells.unit = failures.unit and failures.day between spells.from_on and spells.to_on
    where failures.measure = 'began'
),

firsts as (
    select
        unit,
        known_on,
        any_value(unit_group) as unit_group,
        min(age_days) as age_days,
        arg_min(
            case when flow_linked then 'flow_linked' when cause_known then 'other_cause' else 'unknown_cause' end,
            (age_days, call_row)
        ) as what
    from failed
    group by unit, known_on
),

what_failed as (
    select
        failed.unit_group,
        failed.age_days,
        unnest(list_concat(
            ['all'], if(failed.flow_linked, ['flow_linked'], []),
            list_transform(symptom_sets.families, lambda family: 'family:' || family)
        )) as what
    from failed
    inner join marts.symptom_sets on symptom_sets.symptom_set = failed.symptom_set
)

select 'entering' as measure, 'all' as what, unit_group, from_days as age_days, count(*) as number from spells group by all
union all
select 'leaving', 'all', unit_group, to_days, count(*) from spells group by all
union all
select 'failed', what, unit_group, age_days, count(*) from what_failed group by all
union all
select 'first', what, unit_group, age_days, count(*) from firsts group by all
union all
select 'unfailed', 'all', spells.unit_group, spells.to_days, count(*)
from spells
anti join firsts on firsts.unit = spells.unit and firsts.known_on = spells.known_on
group by all;
