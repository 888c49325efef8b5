-- charges: one row per return, call it is counted against, and match. Temporary; marts.returns and marts.calls take
-- it over. Columns: charged_row, return_row, match, gap_days, compared_as_dates, window_bits (the five windows, and 32
-- within a year: how long until a customer rings again is followed that far).
-- In each window a return is counted against one call: of the completed calls of its unit that qualify, the one closed
-- latest, then opened latest, then of the larger call_id. Times are compared as dates where either is only a date.
-- Closings with and without a time of day are therefore looked up apart: among closings of one kind the latest before
-- a return qualifies in every window in which an earlier one does, so that one row a kind is enough.
create or replace temp table closings as
select
    unit_hash,
    after_at,
    closed_at,
    closed_has_time,
    call_row,
    call_id,
    opened_at,
    family_bits
from coded_calls
where is_completed;

create or replace temp table openings as
select calls.call_row, calls.unit_hash, calls.opened_at, calls.opened_has_time, calls.family_bits
from coded_calls as calls
anti join return_trips on return_trips.call_row = calls.call_row
where calls.is_repair;

create or replace temp macro gap_in_days(closed_at, closed_has_time, opened_at, opened_has_time) as
if(
    closed_has_time and opened_has_time,
    date_diff('microsecond', closed_at, opened_at) / 86400000000.0,
    date_diff('day', closed_at::date, opened_at::date)
);

create or replace temp macro bits_of_gap(gap_days) as
(gap_days <= 7)::utinyint
+ 2 * (gap_days <= 14)::utinyint
+ 4 * (gap_days <= 30)::utinyint
+ 8 * (gap_days <= 60)::utinyint
+ 16 * (gap_days <= 90)::utinyint;

-- candidates by any symptom: at most one closing with and one without a time of day for each return
create or replace temp table any_candidates as
with latest as (
    select unit_hash, after_at, closed_has_time, arg_max(call_row, (opened_at, call_id)) as charged_row
    from closings
    group by unit_hash, after_at, closed_has_time
),

met as (
    select openings.call_row as return_row, latest.charged_row
    from openings
    asof join (from latest where closed_has_time) as latest
        on latest.unit_hash = openings.unit_hash and openings.opened_at > latest.after_at
    union all
    select openings.call_row, latest.charged_row
    from openings
    asof join (from latest where not closed_has_time) as latest
        on latest.unit_hash = openings.unit_hash and openings.opened_at > latest.after_at
)

select
    met.return_row,
    met.charged_row,
    gap_in_days(closings.closed_at, closings.closed_has_time, openings.opened_at, openings.opened_has_time) as gap_days
from met
inner join openings on openings.call_row = met.return_row
inner join closings on closings.call_row = met.charged_row
where gap_days <= 365;

-- candidates by family: only where there is one by any symptom; once for each family of the return
create or replace temp table family_candidates as
with returns as (
    select openings.*, families.bit
    from openings
    semi join any_candidates on any_candidates.return_row = openings.call_row
    inner join catalogue.families on (families.bit & openings.family_bits) <> 0
),

latest as (
    select
        closings.unit_hash,
        families.bit,
        closings.after_at,
        closings.closed_has_time,
        arg_max(closings.call_row, (closings.opened_at, closings.call_id)) as charged_row
    from closings
    semi join returns on returns.unit_hash = closings.unit_hash
    inner join catalogue.families on (families.bit & closings.family_bits) <> 0
    group by closings.unit_hash, families.bit, closings.after_at, closings.closed_has_time
),

met as (
    select returns.call_row as return_row, latest.charged_row
    from returns
    asof join (from latest where closed_has_time) as latest
        on latest.unit_hash = returns.unit_hash and latest.bit = returns.bit and returns.opened_at > latest.after_at
    union
    select returns.call_row, latest.charged_row
    from returns
    asof join (from latest where not closed_has_time) as latest
        on latest.unit_hash = returns.unit_hash and latest.bit = returns.bit and returns.opened_at > latest.after_at
)

select
    met.return_row,
    met.charged_row,
    gap_in_days(closings.closed_at, closings.closed_has_time, openings.opened_at, openings.opened_has_time) as gap_days
from met
inner join openings on openings.call_row = met.return_row
inner join closings on closings.call_row = met.charged_row
where gap_days <= 365;

create or replace temp table charges as
with candidates as (
    select 'family' as match, * from family_candidates
    union all
    select 'any' as match, * from any_candidates
),

several as (
    select match, return_row
    from candidates
    group by match, return_row
    having count(*) > 1
),

windows (bit) as (values (1::utinyint), (2::utinyint), (4::utinyint), (8::utinyint), (16::utinyint), (32::utinyint)),

chosen as (
    select
        candidates.match,
        candidates.return_row,
        windows.bit,
        arg_max(candidates.charged_row, (closings.closed_at, closings.opened_at, closings.call_id)) as charged_row
    from candidates
    semi join several on several.match = candidates.match and several.return_row = candidates.return_row
    inner join windows on (windows.bit & (32 + bits_of_gap(candidates.gap_days))) <> 0
    inner join closings on closings.call_row = candidates.charged_row
    group by candidates.match, candidates.return_row, windows.bit
),

bits as (
    select match, return_row, charged_row, 32 + bits_of_gap(gap_days) as window_bits
    from candidates
    anti join several on several.match = candidates.match and several.return_row = candidates.return_row
    union all
    select match, return_row, charged_row, bit_or(bit) as window_bits
    from chosen
    group by match, return_row, charged_row
)

select
    bits.match,
    bits.return_row,
    bits.charged_row,
    candidates.gap_days,
    not (openings.opened_has_time and closings.closed_has_time) as compared_as_dates,
    bits.window_bits
from bits
inner join candidates
    on candidates.match = bits.match
    and candidates.return_row = bits.return_row
    and candidates.charged_row = bits.charged_row
inner join openings on openings.call_row = bits.return_row
inner join closings on closings.call_row = bits.charged_row;
