-- Columns of the staged file with values that could not be read as what they should be. Grain: one row per column.
select distinct why.column_name
from (select unnest(reasons) as why from staged where reasons is not null)
where why.reason in ('not_a_date', 'not_a_number', 'not_a_whole_number');
