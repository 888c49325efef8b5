-- How much more failures vary between units than chance: one row. Reads filter_spells, see
-- metrics/filter_time, and filter_failures, see metrics/filter_failures.
-- Each unit's failures while at risk (first calls of episodes, by the day of the call) against those expected of its
-- days at the rate of all: the squared differences over the expected failures. 1: as chance; null: no failure.
-- Column: design_effect.
with times as (
    select unit, sum(to_on - from_on + 1) as days from filter_spells group by unit
),

failures as (
    select failed.unit, count(*) as failures
    from filter_failures as failed
    inner join filter_spells as spells on spells.unit = failed.unit and failed.day between spells.from_on and spells.to_on
    where failed.measure = 'called'
    group by failed.unit
),

counted as (
    select times.unit, times.days, coalesce(failures.failures, 0) as failures
    from times
    left join failures on failures.unit = times.unit
),

expected as (
    select failures, days * sum(failures) over () / sum(days) over () as due from counted
)

select sum((failures - due) ** 2) / nullif(sum(due), 0) as design_effect
from expected;
