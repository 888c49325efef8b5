-- texts_met: the words in the coded columns of the calls that one file brought.
-- Grain: one row per field, column and distinct text. Columns: field (coding field), text, "rows" (rows that have it).
-- Binds $file_id.
create or replace temp table texts_met as
with brought as (select * from records.calls where file_id = $file_id)
select 'complaint' as field, complaint as text, count(*) as "rows" from brought group by all
union all select 'root_cause', root_cause, count(*) from brought group by all
union all select 'root_cause', first_diagnosis, count(*) from brought group by all
union all select 'outcome', outcome, count(*) from brought group by all
union all select 'job_kind', job_kind, count(*) from brought group by all
union all select 'payer', payer, count(*) from brought group by all
union all select 'callback_flag', callback_flag, count(*) from brought group by all
union all select 'filter_last_changed', filter_last_changed, count(*) from brought group by all
union all select 'filter_kind', filter_kind, count(*) from brought group by all
union all select 'unit_age', unit_age, count(*) from brought group by all
union all select 'problem_duration', problem_duration, count(*) from brought group by all
union all select 'mould_state', mould_state, count(*) from brought group by all
union all select 'dispenser_flow', dispenser_flow, count(*) from brought group by all
union all select 'fill_tube_ice', fill_tube_ice, count(*) from brought group by all
union all select 'switch_on', switch_on, count(*) from brought group by all
union all select 'freezer_temperature', freezer_temperature, count(*) from brought group by all
union all select 'supply_type', supply_type, count(*) from brought group by all
union all select 'shutoff_valve', shutoff_valve, count(*) from brought group by all
union all select 'what_changed', what_changed, count(*) from brought group by all
union all select 'where_it_stands', where_it_stands, count(*) from brought group by all
union all select 'already_tried', already_tried, count(*) from brought group by all;
