-- filter_ages: one row per call: how old the filter was at the day of the call and when the trouble began. Temporary.
-- Ages are calendar days since the latest change recorded before that day (filter changes, filters among the parts)
-- or the change as told, that day at the latest, whichever is later; told "never" counts from installation where a
-- filter is known to be fitted.
create or replace temp table filter_days as
with one_code as (
    select field, text, codes from texts.codings where len(codes) > 0
),

filter_kinds as (select text, codes[1] as code from one_code where field = 'filter_kind' and codes[1] <> 'dont_know'),

supplies as (select text, list_contains(codes, 'reverse_osmosis') as is_reverse_osmosis from one_code where field = 'supply_type'),

told as (from answer_texts where field = 'filter_last_changed'),

durations as (from answer_texts where field = 'problem_duration'),

unit_ages as (from answer_texts where field = 'unit_age'),

units as (
    select
        units.unit_id,
        units.installed_on,
        filter_kinds.code as filter_kind,
        supplies.is_reverse_osmosis
    from scope_units as units
    left join filter_kinds on filter_kinds.text = units.filter_kind
    left join supplies on supplies.text = units.water_supply
),

known as (
    select
        calls.call_row,
        calls.unit_hash,
        calls.opened_at::date as call_day,
        coalesce(units.installed_on, calls.opened_at::date - unit_ages.days_ago, unit_ages.day) as installed_on,
        coalesce(filter_kinds.code, units.filter_kind) as filter_kind,
        coalesce(supplies.is_reverse_osmosis, units.is_reverse_osmosis, false) as is_reverse_osmosis,
        told.day as told_day,
        told.days_ago as told_days_ago,
        told.feast_month,
        told.feast_day,
        coalesce(told.is_never, false) as told_never,
        durations.days_ago as lasts_days,
        durations.day as began_day,
        coalesce(durations.since_new, false) as since_new
    from coded_calls as calls
    left join units on units.unit_id = calls.unit_id
    left join filter_kinds on filter_kinds.text = calls.filter_kind
    left join supplies on supplies.text = calls.supply_type
    left join told on told.text = calls.filter_last_changed
    left join durations on durations.text = calls.problem_duration
    left join unit_ages on unit_ages.text = calls.unit_age
),

dated as (
    select
        *,
        make_date(year(call_day), feast_month, feast_day) as feast_this_year,
        filter_kind in ('in_unit', 'in_line', 'whole_house') as filter_is_fitted
    from known
)

select
    call_row,
    unit_hash,
    call_day,
    coalesce(filter_kind in ('bypass_or_none', 'reverse_osmosis'), false) or is_reverse_osmosis as not_applicable,
    case
        when told_never then if(filter_is_fitted, installed_on, null)
        when feast_month is not null
            then if(feast_this_year < call_day, feast_this_year, (feast_this_year - interval 1 year)::date)
        else coalesce(told_day, call_day - told_days_ago)
    end as told_on,
    case when since_new then installed_on else coalesce(began_day, call_day - lasts_days) end as began_day
from dated;

create or replace temp macro band_of(age_days) as
case
    when age_days is null then 'unknown'
    when age_days < 3 * 30.4375 then '0-3'
    when age_days < 6 * 30.4375 then '3-6'
    when age_days < 9 * 30.4375 then '6-9'
    when age_days < 12 * 30.4375 then '9-12'
    when age_days < 18 * 30.4375 then '12-18'
    else '18+'
end;

-- a customer who says "today" means before the visit: only what is recorded on the day itself may be the visit's work
create or replace temp macro told_by(told_on, day) as if(told_on <= day, told_on, null);

create or replace temp table filter_ages as
with changes as (
    select hash(unit_id) as unit_hash, changed_on from scope_filter_changes
    union all
    select unit_hash, fitted_on from part_rows where is_filter
),

days as (
    select call_row, unit_hash, call_day as day, true as at_call from filter_days where not not_applicable
    union all
    select call_row, unit_hash, began_day, false from filter_days where not not_applicable and began_day is not null
),

latest as (
    select days.call_row, days.at_call, changes.changed_on
    from days
    asof join changes on changes.unit_hash = days.unit_hash and days.day > changes.changed_on
),

ages as (
    select
        days.call_row,
        days.not_applicable,
        told_by(days.told_on, days.call_day) as told_on,
        at_call.changed_on as recorded_on,
        days.call_day - greatest(at_call.changed_on, told_by(days.told_on, days.call_day)) as age_days,
        days.began_day - greatest(at_beginning.changed_on, told_by(days.told_on, days.began_day)) as age_began_days
    from filter_days as days
    left join (from latest where at_call) as at_call on at_call.call_row = days.call_row
    left join (from latest where not at_call) as at_beginning on at_beginning.call_row = days.call_row
)

select
    call_row,
    if(not_applicable, null, age_days)::integer as filter_age_days,
    if(not_applicable, null, age_began_days)::integer as filter_age_began_days,
    if(not_applicable, 'not_applicable', band_of(age_days)) as filter_age_band,
    if(not_applicable, 'not_applicable', band_of(age_began_days)) as filter_age_began_band,
    if(not_applicable, null, told_on - recorded_on)::integer as filter_told_later_days
from ages;
