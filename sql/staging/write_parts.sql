-- Write the rows of the staged file that are new or replace a known row into records.parts. Grain: one row per record.
-- Binds $skip, $source, $file_id.
insert into records.parts by name
select
    line_of(source_line, record_lines.line, staged.rowid + 1, $skip) as line,
    staged.* exclude (source_line, key_hash, moment, reasons),
    $source as source,
    $file_id as file_id
from staged
left join record_lines on record_lines.nth = staged.rowid + 1
left join verdicts on verdicts.nth = staged.rowid + 1
where reasons is null and (verdict is null or verdict = 'updated');
