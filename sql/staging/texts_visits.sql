-- texts_met: the words in the coded columns of the visits that one file brought.
-- Grain: one row per field and distinct text. Columns: as in staging/texts_calls.
-- Binds $file_id.
create or replace temp table texts_met as
select 'visit_result' as field, result as text, count(*) as "rows"
from records.visits where file_id = $file_id
group by all;
