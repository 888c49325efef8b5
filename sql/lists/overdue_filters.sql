-- Filters past an age now: one row per unit in service with a filter whose age is known at the end of observation and is
-- $past_days or more. Reads filter_units and the changes of metrics/filter_time. Left out: units retired or with a day
-- of retirement, with no filter, a bypass or reverse osmosis. Filters changed since count as they are now.
-- Columns: unit_id, depot, product_family, water_supply, shutoff_valve, known_on (latest change, else installation),
-- changed (false: since installation), age_days, unit_age_days, as_of (end of observation), calls_in_a_year (repairs),
-- declined_on (latest filter visit that was declined since the filter's date; null: none).
with latest as (
    select units.unit, max(changes.known_on) as changed_on
    from filter_units as units
    left join filter_change_days as changes on changes.unit = units.unit and changes.known_on <= units.ends_on
    where units.is_known and units.retired_on is null
    group by units.unit
),

now as (
    select
        units.*,
        latest.changed_on is not null as changed,
        greatest(latest.changed_on, if(units.known_since_new, units.installed_on, null)) as known_on
    from latest
    inner join filter_units as units on units.unit = latest.unit
),

overdue as (
    select *, ends_on - known_on as age_days from now where ends_on - known_on >= $past_days
),

calls as (
    select calls.unit_hash as unit, count(*)::integer as calls
    from marts.calls
    inner join overdue on overdue.unit = calls.unit_hash and calls.opened_at::date > overdue.ends_on - 365
    where calls.standing not in ('not_a_repair', 'duplicate') and calls.return_trip_of is null
    group by calls.unit_hash
),

declined as (
    select calls.unit_hash as unit, max(calls.opened_at)::date as declined_on
    from marts.calls
    inner join overdue on overdue.unit = calls.unit_hash and calls.opened_at::date > overdue.known_on
    where calls.job_kind = 'filter_visit' and calls.outcome = 'estimate_declined'
    group by calls.unit_hash
)

select
    overdue.unit_id,
    overdue.depot,
    overdue.product_family,
    overdue.water_supply,
    overdue.shutoff_valve,
    overdue.known_on,
    overdue.changed,
    overdue.age_days,
    overdue.ends_on - overdue.installed_on as unit_age_days,
    overdue.ends_on as as_of,
    coalesce(calls.calls, 0) as calls_in_a_year,
    declined.declined_on
from overdue
left join calls on calls.unit = overdue.unit
left join declined on declined.unit = overdue.unit
order by overdue.unit_id;
