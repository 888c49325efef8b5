-- How much more failures vary between units than chance: one row. Reads filter_spells, see metrics/filter_time.
-- Each unit's failures while at risk (first calls of episodes, by the day of the call) against those expected of its
-- days at the rate of all: the squared differences over the expected failures. 1: as chance; null: no failure.
-- Column: design_effect.
with times as (
    select unit, sum(to_on - from_on + 1) as days from filter_spells group by unit
),

failures as (
    select calls.unit_hash as unit, count(*) as failures
    from marts.calls
    inner join filter_spells as spells
        on spells.unit = calls.unit_hash and calls.opened_at::date between spells.from_on and spells.to_on
    where calls.standing not in ('not_a_repair', 'duplicate')
        and calls.return_trip_of is null
        and (calls.episode_id is null or calls.episode_id = calls.call_id)
    group by calls.unit_hash
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
