-- Failures, callbacks and time by month of filter age, of all units and of groups of households: one row per field, group,
-- group of units and step. Reads metrics/filter_policy_time.
-- Columns: field (all, water_supply, shutoff_valve, product_family), "group" (code; null: not known, and of all), unit_group,
-- step (0: the first two weeks; 1: from there to one month of 30.4375 days; then month by month, 24 and more together),
-- failures, callbacks (by the age on the day the trouble began), told (failures with a duration told), days (at risk).
with steps as (
    select step, from_age, coalesce(lead(from_age) over (order by step) - 1, 100000) as to_age
    from (
        select 0 as step, 1 as from_age
        union all
        select month + 1, greatest(floor(month * 30.4375)::integer + 1, 15) from range(0, 25) as months (month)
    )
),

kinds as (
    select unit, known_on, any_value(water_supply) as water_supply, any_value(shutoff_valve) as shutoff_valve,
        any_value(product_family) as product_family
    from filter_spells
    group by unit, known_on
),

time as (
    select
        pieces.unit_group,
        steps.step,
        kinds.water_supply,
        kinds.shutoff_valve,
        kinds.product_family,
        sum(least(pieces.to_age, steps.to_age) - greatest(pieces.from_age, steps.from_age) + 1)::bigint as days,
        0::bigint as failures,
        0::bigint as callbacks,
        0::bigint as told
    from filter_pieces as pieces
    inner join kinds on kinds.unit = pieces.unit and kinds.known_on = pieces.known_on
    inner join steps on steps.from_age <= pieces.to_age and steps.to_age >= pieces.from_age
    group by all
),

failed as (
    select
        pieces.unit_group,
        steps.step,
        kinds.water_supply,
        kinds.shutoff_valve,
        kinds.product_family,
        0::bigint as days,
        count(*) as failures,
        sum(failures.callbacks)::bigint as callbacks,
        count(*) filter (where not failures.untold) as told
    from (from filter_failures where measure = 'began') as failures
    inner join filter_pieces as pieces
        on pieces.unit = failures.unit and failures.day between pieces.from_on and pieces.to_on
    inner join kinds on kinds.unit = pieces.unit and kinds.known_on = pieces.known_on
    inner join steps on failures.day - pieces.known_on between steps.from_age and steps.to_age
    group by all
),

counted as (
    from time
    union all by name
    from failed
),

grouped as (
    select 'all' as field, null as "group", * from counted
    union all
    select 'water_supply', water_supply, * from counted
    union all
    select 'shutoff_valve', shutoff_valve, * from counted
    union all
    select 'product_family', product_family, * from counted
)

select
    field,
    "group",
    unit_group,
    step,
    sum(failures)::bigint as failures,
    sum(callbacks)::bigint as callbacks,
    sum(told)::bigint as told,
    sum(days)::bigint as days
from grouped
group by all;
