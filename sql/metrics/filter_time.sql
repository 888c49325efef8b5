-- Filters over time: filter_units has one row per unit, filter_spells one row per unit and filter, as far as it was at risk.
-- Both temporary, on the cursor that asks.
-- The age on a day is calendar days since the latest change recorded before that day, or since installation where that
-- lies within the records of calls; a filter among the parts fitted is a change. What customers tell does not count.
-- At risk: units with a filter, from the day after their first such date (and the first day of calls of their source), to
-- the earliest of retirement, the end of observation of their source and depot, and the end of filter recording: the
-- extraction date of the filter changes, else the latest one recorded. Both days included.
-- filter_units: unit (hash of unit_id), unit_id, installed_on, retired_on, product_family, water_supply, shutoff_valve
-- (codes; null: not known), depot, has_no_filter, first_on (of calls), ends_on (end of observation), watched_to, is_known
-- (some date is known). filter_spells: unit and the like, known_on (change or installation), changed, from_on, to_on.
create or replace temp table filter_change_days as
with part_codes as (
    select codings.text
    from (select text, unnest(codes) as code from texts.codings where field = 'part') as codings
    inner join catalogue.parts on parts.code = codings.code and parts.is_filter
),

filters_fitted as (
    from records.parts where withdrawn_by is null and part in (from part_codes)
)

select hash(unit_id) as unit, changed_on as known_on, source, true as in_changes
from records.filter_changes
where withdrawn_by is null
union all
select calls.unit_hash, visits.arrived_at::date, fitted.source, false
from filters_fitted as fitted
inner join records.visits on visits.visit_id = fitted.visit_id and visits.withdrawn_by is null
inner join marts.calls on calls.call_id = visits.call_id
union all
select calls.unit_hash, coalesce(calls.closed_at, calls.opened_at)::date, fitted.source, false
from (from filters_fitted where visit_id is null) as fitted
inner join marts.calls on calls.call_id = fitted.call_id;

create or replace temp table filter_units as
with codes as (
    select field, text, codes[1] as code, codes
    from texts.codings
    where field in ('supply_type', 'shutoff_valve', 'filter_kind') and len(codes) > 0
),

first_calls as (
    select source, min(opened_at)::date as first_on from records.calls where withdrawn_by is null group by source
),

whole_ends as (
    select source, max(source_ends_at)::date as ends_on from marts.observation_ends group by source
),

recording_ends as (
    select changes.source, greatest(changes.last_on, files.extracted_on) as ends_on
    from (select source, max(known_on) as last_on from filter_change_days where in_changes group by source) as changes
    left join (
        select source, max(extracted_on)::date as extracted_on
        from loads.files
        where table_name = 'filter_changes'
        group by source
    ) as files on files.source = changes.source
),

places as (select unit_hash as unit, max(place) as place from marts.calls group by unit_hash),

units as (
    select
        hash(units.unit_id) as unit,
        units.unit_id,
        units.installed_on,
        units.retired_on,
        units.product_family,
        nullif(supplies.code, 'dont_know') as water_supply,
        nullif(shutoffs.code, 'dont_know') as shutoff_valve,
        coalesce(kinds.code in ('bypass_or_none', 'reverse_osmosis'), false)
        or coalesce(list_contains(supplies.codes, 'reverse_osmosis'), false) as has_no_filter,
        coalesce(nullif(own.depot, ''), units.depot) as depot,
        first_calls.first_on,
        coalesce(own.ends_at, by_depot.ends_at, whole_ends.ends_on)::date as ends_on,
        recording_ends.ends_on as recording_ends_on
    from records.units
    left join codes as supplies on supplies.field = 'supply_type' and supplies.text = units.water_supply
    left join codes as shutoffs on shutoffs.field = 'shutoff_valve' and shutoffs.text = units.shutoff_valve
    left join codes as kinds on kinds.field = 'filter_kind' and kinds.text = units.filter_kind
    left join places on places.unit = hash(units.unit_id)
    left join marts.observation_ends as own on own.place = places.place
    left join marts.observation_ends as by_depot
        on places.unit is null and by_depot.source = units.source and by_depot.depot = coalesce(units.depot, '')
    left join first_calls on first_calls.source = coalesce(own.source, units.source)
    left join whole_ends on whole_ends.source = coalesce(own.source, units.source)
    left join recording_ends on recording_ends.source = coalesce(own.source, units.source)
    where units.withdrawn_by is null
),

with_known as (
    select
        units.*,
        coalesce(units.installed_on >= units.first_on, false) as known_since_new,
        least(units.retired_on, units.ends_on, units.recording_ends_on) as watched_to
    from units
)

select *, not has_no_filter and (known_since_new or unit in (select unit from filter_change_days)) as is_known
from with_known;

create or replace temp table filter_spells as
with known_dates as (
    select changes.unit, changes.known_on, true as changed
    from (select distinct unit, known_on from filter_change_days) as changes
    semi join (from filter_units where not has_no_filter) as units on units.unit = changes.unit
    union all
    select unit, installed_on, false
    from filter_units
    where not has_no_filter and known_since_new
),

days as (
    select unit, known_on, bool_or(changed) as changed from known_dates group by unit, known_on
),

spells as (
    select *, coalesce(lead(known_on) over (partition by unit order by known_on), date '9999-12-31') as next_on
    from days
)

select
    units.unit,
    units.installed_on,
    units.product_family,
    units.water_supply,
    units.shutoff_valve,
    spells.known_on,
    spells.changed,
    greatest(spells.known_on + 1, units.first_on) as from_on,
    least(spells.next_on, units.watched_to) as to_on
from spells
inner join filter_units as units on units.unit = spells.unit
where greatest(spells.known_on + 1, units.first_on) <= least(spells.next_on, units.watched_to);
