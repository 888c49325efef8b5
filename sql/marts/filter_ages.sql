-- filter_ages: one row per call whose filter has a known age, at the day of the call or when the trouble began. Temporary.
-- Ages are calendar days since the latest change recorded before that day (filter changes, filters among the parts)
-- or the change as told, that day at the latest, whichever is later. What is recorded on the day itself may be the
-- work of the visit, and does not count; what is told was told before.
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

create or replace temp macro told_by(told_on, day) as if(told_on <= day, told_on, null);

create or replace temp table filter_ages as
with changes as (
    select hash(unit_id) as unit_hash, changed_on from scope_filter_changes
    union all
    select unit_hash, fitted_on from part_rows where is_filter
),

calls as (
    select call_row, unit_hash, opened_at::date as opened_on, trouble_began_on, told_changed_on
    from coded_calls
    where not has_no_filter
),

days as (
    select call_row, unit_hash, opened_on as day, true as at_call from calls
    union all
    select call_row, unit_hash, trouble_began_on, false from calls where trouble_began_on is not null
),

latest as (
    select days.call_row, days.at_call, changes.changed_on
    from days
    asof join changes on changes.unit_hash = days.unit_hash and days.day > changes.changed_on
),

ages as (
    select
        calls.call_row,
        calls.opened_on - greatest(at_call.changed_on, told_by(calls.told_changed_on, calls.opened_on))
            as filter_age_days,
        calls.trouble_began_on
        - greatest(at_beginning.changed_on, told_by(calls.told_changed_on, calls.trouble_began_on))
            as filter_age_began_days,
        told_by(calls.told_changed_on, calls.opened_on) - at_call.changed_on as filter_told_later_days
    from calls
    left join (from latest where at_call) as at_call on at_call.call_row = calls.call_row
    left join (from latest where not at_call) as at_beginning on at_beginning.call_row = calls.call_row
)

select *
from ages
where filter_age_days is not null or filter_age_began_days is not null;
