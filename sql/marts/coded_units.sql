-- coded_units: one row per unit in scope, its words as codes. Temporary.
-- Columns: unit_id, product_family, installed_on, retired_on, filter_kind, supply (null: not known), is_reverse_osmosis (the
-- feed).
create or replace temp table coded_units as
with filter_kinds as (
    select text, codes[1] as code
    from texts.codings
    where field = 'filter_kind' and codes[1] <> 'dont_know'
),

supplies as (
    select text, codes[1] as code, list_contains(codes, 'reverse_osmosis') as is_reverse_osmosis
    from texts.codings
    where field = 'supply_type' and len(codes) > 0
)

select
    units.unit_id,
    units.product_family,
    units.installed_on,
    units.retired_on,
    filter_kinds.code as filter_kind,
    supplies.code as supply,
    supplies.is_reverse_osmosis
from scope_units as units
left join filter_kinds on filter_kinds.text = units.filter_kind
left join supplies on supplies.text = units.water_supply;
