-- texts_met: the words in the coded column of the follow-up questions that one file brought.
-- Grain: one row per distinct text. Columns: as in staging/texts_calls.
-- Binds $file_id.
create or replace temp table texts_met as
select 'follow_up_answer' as field, answer as text, count(*) as "rows"
from records.follow_ups where file_id = $file_id
group by all;
