-- return_trips: one row per call opened to finish a part-on-order call of its unit. Columns: call_row, return_trip_of.
-- It is the first repair call of the unit after the part-on-order call, by opening and then by call_id, that is in
-- a symptom family of it or says that it is a return trip, opened within 90 days of the other's opening.
create or replace temp table return_trips as
with units as (
    select distinct unit_id from coded_calls where outcome = 'part_on_order'
),

in_order as (
    select
        calls.call_row,
        calls.call_id,
        calls.unit_id,
        calls.opened_at,
        calls.is_repair,
        calls.outcome,
        calls.family_bits,
        calls.says_return_trip,
        row_number() over (partition by calls.unit_id order by calls.opened_at, calls.call_id) as place_in_line
    from coded_calls as calls
    semi join units on units.unit_id = calls.unit_id
),

waiting as (select * from in_order where outcome = 'part_on_order'),

waiting_by_family as (
    select waiting.*, families.bit
    from waiting
    inner join catalogue.families on (families.bit & waiting.family_bits) <> 0
),

later_by_family as (
    select later.*, families.bit
    from in_order as later
    inner join catalogue.families on (families.bit & later.family_bits) <> 0
    where later.is_repair
),

candidates as (
    select waiting.call_id as return_trip_of, waiting.opened_at as waits_from, later.call_row, later.opened_at, later.place_in_line
    from waiting_by_family as waiting
    asof join later_by_family as later
        on later.unit_id = waiting.unit_id
        and later.bit = waiting.bit
        and later.place_in_line > waiting.place_in_line
    union all
    select waiting.call_id, waiting.opened_at, later.call_row, later.opened_at, later.place_in_line
    from waiting
    asof join (select * from in_order where is_repair and says_return_trip) as later
        on later.unit_id = waiting.unit_id and later.place_in_line > waiting.place_in_line
),

first_ones as (
    select
        return_trip_of,
        any_value(waits_from) as waits_from,
        arg_min(call_row, place_in_line) as call_row,
        arg_min(opened_at, place_in_line) as opened_at
    from candidates
    group by return_trip_of
)

select call_row, arg_max(return_trip_of, (waits_from, return_trip_of)) as return_trip_of
from first_ones
where opened_at <= waits_from + interval 90 day
group by call_row;

-- a return trip with no symptom of its own ("part is in") is about the trouble of the call that it was opened to finish
update coded_calls
set symptom_set = finished.symptom_set, family_bits = finished.family_bits
from return_trips
inner join coded_calls as finished on finished.call_id = return_trips.return_trip_of
where return_trips.call_row = coded_calls.call_row and coded_calls.symptom_set = 0;
