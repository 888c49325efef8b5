-- Write the rows of the staged file that are new or replace a known row into records.filter_changes.
-- Binds $source, $file_id.
insert into records.filter_changes by name
select
    staged.* exclude (key_hash, moment, reasons),
    $source as source,
    $file_id as file_id
from staged
left join verdicts using (line)
where reasons is null and (verdict is null or verdict = 'updated');
