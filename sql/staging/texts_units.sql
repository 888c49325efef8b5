-- texts_met: the words in the coded columns of the units that one file brought.
-- Grain: one row per field and distinct text. Columns: as in staging/texts_calls.
-- Binds $file_id.
create or replace temp table texts_met as
with brought as (select * from records.units where file_id = $file_id)
select 'ice_maker_kind' as field, ice_maker_kind as text, count(*) as "rows" from brought group by all
union all select 'filter_kind', filter_kind, count(*) from brought group by all
union all select 'supply_type', water_supply, count(*) from brought group by all
union all select 'shutoff_valve', shutoff_valve, count(*) from brought group by all
union all select 'where_it_stands', location, count(*) from brought group by all;
