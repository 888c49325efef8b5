-- One unit as recorded, its words as codes. At most one row.
with one_code as (
    select field, text, codes[1] as code
    from texts.codings
    where field in ('ice_maker_kind', 'filter_kind', 'supply_type', 'shutoff_valve', 'where_it_stands')
)

select
    units.unit_id,
    units.product_family,
    units.installed_on,
    units.retired_on,
    ice_makers.code as ice_maker_kind,
    filters.code as filter_kind,
    supplies.code as water_supply,
    shutoffs.code as shutoff_valve,
    locations.code as location,
    units.depot
from records.units
left join one_code as ice_makers on ice_makers.field = 'ice_maker_kind' and ice_makers.text = units.ice_maker_kind
left join one_code as filters on filters.field = 'filter_kind' and filters.text = units.filter_kind
left join one_code as supplies on supplies.field = 'supply_type' and supplies.text = units.water_supply
left join one_code as shutoffs on shutoffs.field = 'shutoff_valve' and shutoffs.text = units.shutoff_valve
left join one_code as locations on locations.field = 'where_it_stands' and locations.text = units.location
where units.withdrawn_by is null and units.unit_id = $unit_id;
