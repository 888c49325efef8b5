-- Histories of units for repeat calls: one row per unit that is known from the units file or from a call.
-- Watched: from the later of installation and the first date of its source's calls, to the end of observation of its
-- source (of its depot, where that fell silent) or its retirement; both days included. A unit whose watch has no day is
-- left out. A call is a repair call, whatever became of it, but no duplicate and no return trip.
-- Columns: unit_id, installed_on (null: not known), watched_from, watched_to, product_family, water_supply,
-- shutoff_valve (codes; null: not known), opened_on (days of its calls while watched), calls_outside (its other calls).
with sources as (
    select source, min(opened_at)::date as first_on
    from records.calls
    where withdrawn_by is null
    group by source
),

whole_ends as (
    select source, max(source_ends_at)::date as ends_on from marts.observation_ends group by source
),

everywhere as (
    select min(sources.first_on) as first_on, max(whole_ends.ends_on) as ends_on
    from sources
    inner join whole_ends on whole_ends.source = sources.source
),

called as (
    select
        unit_id,
        max(place) as place,
        any_value(product_family) as product_family,
        list(opened_at::date) filter (
            where standing not in ('not_a_repair', 'duplicate') and return_trip_of is null
        ) as opened_on
    from marts.calls
    group by unit_id
),

codes as (
    select field, text, codes[1] as code
    from texts.codings
    where field in ('supply_type', 'shutoff_valve') and len(codes) > 0
),

known as (
    select
        units.unit_id,
        units.installed_on,
        units.retired_on,
        units.product_family,
        nullif(supplies.code, 'dont_know') as water_supply,
        nullif(shutoffs.code, 'dont_know') as shutoff_valve,
        units.source,
        units.depot
    from records.units
    left join codes as supplies on supplies.field = 'supply_type' and supplies.text = units.water_supply
    left join codes as shutoffs on shutoffs.field = 'shutoff_valve' and shutoffs.text = units.shutoff_valve
    where units.withdrawn_by is null
),

-- a place is where a unit's calls come from, else where its own record says it stands
placed as (
    select
        coalesce(known.unit_id, called.unit_id) as unit_id,
        known.installed_on,
        known.retired_on,
        coalesce(known.product_family, called.product_family) as product_family,
        known.water_supply,
        known.shutoff_valve,
        called.opened_on,
        coalesce(places.source, known.source) as source,
        coalesce(places.ends_at, own_places.ends_at)::date as place_ends_on
    from known
    full join called on called.unit_id = known.unit_id
    left join marts.observation_ends as places on places.place = called.place
    left join marts.observation_ends as own_places
        on called.unit_id is null and own_places.source = known.source and own_places.depot = coalesce(known.depot, '')
),

watched as (
    select
        placed.*,
        greatest(placed.installed_on, coalesce(sources.first_on, everywhere.first_on)) as watched_from,
        least(placed.retired_on, coalesce(placed.place_ends_on, whole_ends.ends_on, everywhere.ends_on)) as watched_to
    from placed
    cross join everywhere
    left join sources on sources.source = placed.source
    left join whole_ends on whole_ends.source = placed.source
)

select
    unit_id,
    installed_on,
    watched_from,
    watched_to,
    product_family,
    water_supply,
    shutoff_valve,
    coalesce(list_filter(opened_on, lambda day: day between watched_from and watched_to), []) as opened_on,
    coalesce(len(list_filter(opened_on, lambda day: day not between watched_from and watched_to)), 0)::integer
        as calls_outside
from watched
where watched_from <= watched_to
order by unit_id;
