-- takeovers: one row per completed call whose returns, from some time on, count against another call of the unit, closed
-- later, that was not itself a return of it. Columns: call_row, days_until_taken_over (same family), days_until_taken_over_any.
-- Only calls that overlap in time, or that are return trips, can do that: whatever else is opened after a closing is a
-- return. So only units with such calls are looked at.
create or replace temp table takeovers as
with in_order as (
    select
        unit_hash,
        opened_at,
        max(closed_at) over (
            partition by unit_hash order by opened_at, call_id rows between unbounded preceding and 1 preceding
        ) as closed_before
    from closings
),

units as (
    select unit_hash from in_order where opened_at::date <= closed_before::date
    union
    select calls.unit_hash
    from return_trips
    inner join coded_calls as calls on calls.call_row = return_trips.call_row
),

looked_at as (from closings semi join units on units.unit_hash = closings.unit_hash),

pairs as (
    select
        earlier.call_row,
        (earlier.family_bits & later.family_bits) <> 0 as same_family,
        greatest(0, gap_in_days(earlier.closed_at, earlier.closed_has_time, later.closed_at, later.closed_has_time))
            as days
    from looked_at as earlier
    inner join looked_at as later
        on later.unit_hash = earlier.unit_hash
        and (later.closed_at, later.opened_at, later.call_id) > (earlier.closed_at, earlier.opened_at, earlier.call_id)
)

select
    call_row,
    min(days) filter (same_family) as days_until_taken_over,
    min(days) as days_until_taken_over_any
from pairs
where days <= 365
group by call_row;
