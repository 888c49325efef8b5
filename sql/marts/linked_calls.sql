-- What else links calls of a unit; one row per call concerned, temporary, taken over by marts.calls.
-- same_day: pairs of a completed call and a repair call opened on its day of closing, where a time is missing.
create or replace temp table closings_by_date as
select call_row, unit_hash, closed_at::date as closed_on, family_bits from closings where not closed_has_time;

create or replace temp table openings_by_date as
select call_row, unit_hash, opened_at::date as opened_on, family_bits from openings where not opened_has_time;

create or replace temp table same_day as
with pairs as (
    select closings.call_row, (closings.family_bits & openings.family_bits) <> 0 as same_family
    from closings_by_date as closings
    inner join openings
        on openings.unit_hash = closings.unit_hash
        and openings.opened_at::date = closings.closed_on
        and openings.call_row <> closings.call_row
    union all
    select closings.call_row, (closings.family_bits & openings.family_bits) <> 0
    from openings_by_date as openings
    inner join closings
        on closings.unit_hash = openings.unit_hash
        and closings.closed_at::date = openings.opened_on
        and closings.call_row <> openings.call_row
    where closings.closed_has_time
)

select
    call_row,
    count_if(same_family)::integer as same_day_calls,
    count(*)::integer as same_day_calls_any
from pairs
group by call_row;

-- install_returns: installs with work done, and the windows in which a repair call followed
create or replace temp table installs as
select call_row, unit_hash, closed_at, closed_has_time, after_at
from coded_calls
where job_kind = 'install' and closed_at is not null and work_done;

create or replace temp table install_returns as
with later as (
    from openings
    semi join installs on installs.unit_hash = openings.unit_hash
)

select
    installs.call_row,
    bits_of_gap(gap_in_days(installs.closed_at, installs.closed_has_time, later.opened_at, later.opened_has_time))
        as install_return_bits
from installs
asof join later on later.unit_hash = installs.unit_hash and installs.after_at < later.opened_at;

-- leaks: completed calls on which a water part was fitted though no leak was complained of, and the windows in which
-- a leak was reported afterwards
create or replace temp table leaks as
with leak as (
    select bit from catalogue.families where code = 'leak'
),

water_work as (
    select closings.*
    from closings
    semi join (from call_parts where water_side) as water_parts on water_parts.call_row = closings.call_row
    where (closings.family_bits & coalesce((from leak), 0)) = 0
),

leak_openings as (
    from openings where (family_bits & coalesce((from leak), 0)) <> 0
)

select
    work.call_row,
    bits_of_gap(
        gap_in_days(work.closed_at, work.closed_has_time, openings.opened_at, openings.opened_has_time)
    ) as leak_bits
from water_work as work
asof join leak_openings as openings on openings.unit_hash = work.unit_hash and work.after_at < openings.opened_at;

-- before_closing: calls closed after their last visit, and the repair calls of their family opened in between
create or replace temp table before_closing as
with closed_later as (
    select
        calls.call_row,
        calls.unit_hash,
        calls.closed_at,
        calls.family_bits,
        greatest(call_visits.last_visit_end, calls.opened_at) as done_at
    from coded_calls as calls
    inner join call_visits on call_visits.call_row = calls.call_row
    where calls.closing_recorded and calls.closed_at > call_visits.last_visit_end
),

with_any_between as (
    select closed_later.*
    from closed_later
    asof join openings on openings.unit_hash = closed_later.unit_hash and closed_later.done_at < openings.opened_at
    where openings.opened_at <= closed_later.closed_at
)

select done.call_row, count(*)::integer as returns_before_closing
from with_any_between as done
inner join openings
    on openings.unit_hash = done.unit_hash
    and openings.opened_at > done.done_at
    and openings.opened_at <= done.closed_at
    and openings.call_row <> done.call_row
    and (openings.family_bits & done.family_bits) <> 0
group by done.call_row;

-- late_visits: calls with visits after their closing
create or replace temp table late_visits as
select calls.call_row, count(*)::integer as visits_after_closing
from visit_records as records
inner join coded_calls as calls on calls.call_row = records.call_row
where if(
    calls.closed_has_time and records.arrived_has_time,
    records.arrived_at > calls.closed_at,
    records.arrived_at::date > calls.closed_at::date
)
group by calls.call_row;
