-- Person-time and failures by the age of the filter: one row per measure, age band of the filter and kind of unit. Reads
-- filter_units and filter_spells, see metrics/filter_time, and filter_failures, see metrics/filter_failures.
-- Measures: at_risk (unit-days); began (failures by the age on the day the trouble began); called (by the age on the day
-- of the call); units (units at risk, once a band); left_out (units, and failures, by reason).
-- Columns: measure, what (all, flow_linked, family:<code>; the reason where left out), band, unit_age, product_family,
-- water_supply, shutoff_valve (codes; null: not known), number.
with -- ages in days, from and below: months of 30.4375 days, and the first two weeks apart
bands (band, from_days, below_days) as (
    values
    ('first two weeks', 1, 15), ('0-3', 15, 92), ('3-6', 92, 183), ('6-9', 183, 274), ('9-12', 274, 366),
    ('12-18', 366, 548), ('18+', 548, 100000)
),

-- the same in years of 365.25 days, of the unit; before the recorded day of installation it counts as new
unit_ages (unit_age, from_days, below_days) as (
    values
    ('0 to 1', -100000, 366), ('1 to 3', 366, 1096), ('3 to 6', 1096, 2192), ('6 to 9', 2192, 3288),
    ('9 and more', 3288, 100000)
),

banded as (
    select
        at_risk.*,
        bands.band,
        greatest(at_risk.from_on, at_risk.known_on + bands.from_days) as band_from_on,
        least(at_risk.to_on, at_risk.known_on + bands.below_days - 1) as band_to_on
    from filter_spells as at_risk
    inner join bands
        on at_risk.known_on + bands.from_days <= at_risk.to_on
        and at_risk.known_on + bands.below_days > at_risk.from_on
),

aged as (
    select
        banded.unit,
        banded.band,
        unit_ages.unit_age,
        banded.product_family,
        banded.water_supply,
        banded.shutoff_valve,
        greatest(banded.band_from_on, coalesce(banded.installed_on + unit_ages.from_days, banded.band_from_on))
            as from_on,
        least(banded.band_to_on, coalesce(banded.installed_on + unit_ages.below_days - 1, banded.band_to_on)) as to_on
    from banded
    left join unit_ages
        on banded.installed_on + unit_ages.from_days <= banded.band_to_on
        and banded.installed_on + unit_ages.below_days > banded.band_from_on
),

placed as (
    select
        failures.measure,
        failures.symptom_set,
        failures.flow_linked,
        failures.untold,
        failures.unit,
        aged.band,
        aged.unit_age,
        aged.product_family,
        aged.water_supply,
        aged.shutoff_valve
    from filter_failures as failures
    left join aged on aged.unit = failures.unit and failures.day between aged.from_on and aged.to_on
),

what_failed as (
    select *, unnest(list_concat(
        ['all'], if(placed.flow_linked, ['flow_linked'], []),
        list_transform(symptom_sets.families, lambda family: 'family:' || family)
    )) as what
    from placed
    inner join marts.symptom_sets on symptom_sets.symptom_set = placed.symptom_set
    where placed.band is not null
),

left_out as (
    select
        'units: ' || case
            when units.has_no_filter then 'no filter, bypass or reverse osmosis'
            when not units.is_known then 'age of the filter never known'
            else 'not watched since the age is known'
        end as what,
        count(*) as number
    from filter_units as units
    anti join filter_spells as at_risk on at_risk.unit = units.unit
    group by all
    union all
    select
        measure || ': ' || case
            when units.unit is null then 'unit not among the units'
            when units.has_no_filter then 'no filter, bypass or reverse osmosis'
            else 'outside the time at risk'
        end,
        count(*)
    from placed
    left join filter_units as units on units.unit = placed.unit
    where placed.band is null
    group by all
    union all
    select 'began: no duration told, day of the call taken', count(*)
    from placed
    where measure = 'began' and untold and band is not null
)

select
    'at_risk' as measure, 'all' as what, band, unit_age, product_family, water_supply, shutoff_valve,
    sum(to_on - from_on + 1)::bigint as number
from aged
group by all
union all
select measure, what, band, unit_age, product_family, water_supply, shutoff_valve, count(*)
from what_failed
group by all
union all
select 'units', 'all', null, null, null, null, null, count(distinct unit) from filter_spells as at_risk
union all
select 'units', 'all', band, null, null, null, null, count(distinct unit) from banded group by band
union all
select 'left_out', what, null, null, null, null, null, number from left_out;
