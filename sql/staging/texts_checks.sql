-- texts_met: the words in the coded columns of the checks that one file brought.
-- Grain: one row per field and distinct text. Columns: as in staging/texts_calls.
-- Binds $file_id.
create or replace temp table texts_met as
with brought as (select "check", state, finding from records.checks where file_id = $file_id)
select 'check' as field, "check" as text, count(*) as "rows" from brought group by all
union all select 'check_state', state, count(*) from brought group by all
union all select 'finding', finding, count(*) from brought group by all;
