-- Time at risk and failures by filter age and kind of unit, and the time that each rule of changing would move between
-- ages: one row per measure, months, group of units, kind of unit and band. Reads metrics/filter_policy_time.
-- Measures: at_risk (unit-days), failures, callbacks (by the age on the day the trouble began, the day of the call where no
-- duration is told); told_failures, told_callbacks (those with a duration told alone); planned (unit-days by the
-- age under the rule); at_visit (days that the rule brings into the band less those it takes away: over the bands they add
-- up to none); planned_changes and at_visit_changes (changes by the rule); own_changes and changes (recorded ones: not at a
-- visit, which a plan replaces, and all); units_now (in service, age of the filter known). Changes have no kind and band.
-- Planned: a change every so many months counted from the latest change at a visit, or the first known date; changes made
-- at visits stay, others give way to the plan. At visit: recorded changes stay, and the filter is changed as well at each
-- visit where it is older. Columns: measure, months (null: no rule), unit_group, kind, band (0 the first two weeks, then
-- 1 to 6), number.
with -- ages in days, from and to, both included: months of 30.4375 days, and the first two weeks apart
bands (band, from_age, to_age) as (
    values
    (0, 1, 14), (1, 15, 91), (2, 92, 182), (3, 183, 273), (4, 274, 365), (5, 366, 547), (6, 548, 100000)
),

every (months, days) as (values (3, 91), (6, 182), (9, 273), (12, 365)),

at_risk as (
    select
        pieces.unit_group,
        pieces.kind,
        bands.band,
        sum(least(pieces.to_age, bands.to_age) - greatest(pieces.from_age, bands.from_age) + 1)::bigint as days
    from filter_pieces as pieces
    inner join bands on bands.from_age <= pieces.to_age and bands.to_age >= pieces.from_age
    group by all
),

-- days of a plan with an age in a band: whole rounds of the plan, and what is left of the last
planned as (
    select
        every.months,
        pieces.unit_group,
        pieces.kind,
        bands.band,
        sum(
            (ends.until // every.days - pieces.planned_from // every.days) * bounds.width
            + greatest(least(ends.until % every.days, bands.to_age) - bands.from_age + 1, 0)
            - greatest(least(pieces.planned_from % every.days, bands.to_age) - bands.from_age + 1, 0)
        )::bigint as days
    from filter_pieces as pieces
    cross join every
    inner join bands on bands.from_age <= every.days
    cross join lateral (select pieces.planned_from + pieces.to_age - pieces.from_age + 1 as until) as ends
    cross join lateral (select least(bands.to_age, every.days) - bands.from_age + 1 as width) as bounds
    group by all
),

planned_changes as (
    select
        every.months,
        pieces.unit_group,
        sum(
            (pieces.planned_from + pieces.to_age - pieces.from_age) // every.days
            - greatest(pieces.planned_from - 1, 0) // every.days
        )::bigint as changes
    from filter_pieces as pieces
    cross join every
    group by all
),

changes_in_turn as (
    select
        unit,
        known_on,
        months,
        unnest(changed_at[2:]) as changed_at,
        unnest(changed_at[3:] || [100000]) as next_at
    from filter_resets
    where len(changed_at) > 1
),

-- the time after a change at a visit, up to the next one
moved as (
    select
        turns.months,
        pieces.unit_group,
        pieces.kind,
        greatest(pieces.from_age, turns.changed_at + 1) as from_age,
        least(pieces.to_age, turns.next_at) as to_age,
        turns.changed_at
    from changes_in_turn as turns
    inner join filter_pieces as pieces
        on pieces.unit = turns.unit
        and pieces.known_on = turns.known_on
        and pieces.from_age <= turns.next_at
        and pieces.to_age > turns.changed_at
),

taken_and_brought as (
    select months, unit_group, kind, from_age, to_age, -1 as sign from moved
    union all
    select months, unit_group, kind, from_age - changed_at, to_age - changed_at, 1 from moved
),

at_visit as (
    select
        ages.months,
        ages.unit_group,
        ages.kind,
        bands.band,
        sum(sign * (least(ages.to_age, bands.to_age) - greatest(ages.from_age, bands.from_age) + 1))::bigint as days
    from taken_and_brought as ages
    inner join bands on bands.from_age <= ages.to_age and bands.to_age >= ages.from_age
    group by all
),

failed as (
    select
        pieces.unit_group,
        pieces.kind,
        bands.band,
        count(*) as failures,
        sum(failures.callbacks)::bigint as callbacks,
        count(*) filter (where not failures.untold) as told_failures,
        coalesce(sum(failures.callbacks) filter (where not failures.untold), 0)::bigint as told_callbacks
    from (from filter_failures where measure = 'began') as failures
    inner join filter_pieces as pieces
        on pieces.unit = failures.unit and failures.day between pieces.from_on and pieces.to_on
    inner join bands on failures.day - pieces.known_on between bands.from_age and bands.to_age
    group by all
)

select 'at_risk' as measure, null::integer as months, unit_group, kind, band, days as number from at_risk
union all
select 'failures', null, unit_group, kind, band, failures from failed
union all
select 'callbacks', null, unit_group, kind, band, callbacks from failed where callbacks > 0
union all
select 'told_failures', null, unit_group, kind, band, told_failures from failed where told_failures > 0
union all
select 'told_callbacks', null, unit_group, kind, band, told_callbacks from failed where told_callbacks > 0
union all
select 'planned', months, unit_group, kind, band, days from planned
union all
select 'at_visit', months, unit_group, kind, band, days from at_visit
union all
select 'planned_changes', months, unit_group, null, null, changes from planned_changes
union all
select 'at_visit_changes', months, unit_group, null, null, count(*)
from moved
where from_age = changed_at + 1
group by all
union all
select 'changes', null, unit_group, null, null, count(*) from filter_starts group by all
union all
select 'own_changes', null, unit_group, null, null, count(*) from filter_starts where not at_visit group by all
union all
select 'units_now', null, null, null, null, count(*) from filter_units where is_known and retired_on is null;
