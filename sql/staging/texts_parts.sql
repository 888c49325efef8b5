-- texts_met: the words in the coded column of the parts that one file brought.
-- Grain: one row per distinct text. Columns: as in staging/texts_calls.
-- Binds $file_id.
create or replace temp table texts_met as
select 'part' as field, part as text, count(*) as "rows"
from records.parts where file_id = $file_id
group by all;
