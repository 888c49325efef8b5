-- set_aside_fields: the fields, as written, of the rows of the staged file that are set aside; long ones are cut so
-- that a row keeps 10,000 characters at most. What is personal is masked, and columns that nothing reads, which may hold
-- names, are left empty. Grain: one row per row of the file. Columns: nth, line, fields.
-- Binds $path, $skip, $columns, $separator, $quote, $line_end, $longest_line, $field_kinds (of each field: text, words, other,
-- unused).
create or replace temp table set_aside_fields as
with wanted as (
    select rowid + 1 as nth from staged where reasons is not null
    union
    select nth from verdicts where verdict not in ('updated', 'repeated_exact', 'repeated_older')
),
numbered as (
    from numbered_rows($path, $skip, $columns, $separator, $quote, $line_end, $longest_line)
    union all by name
    select null::bigint as source_line where false
),
listed as (
    select nth, source_line, list_value(*columns(* exclude (nth, source_line))) as fields
    from numbered
    where nth in (select nth from wanted)
)
select
    nth,
    line_of(source_line, record_lines.line, nth, $skip) as line,
    list_transform(
        fields,
        lambda each, place: left(
            case $field_kinds[place]
                when 'unused' then ''
                when 'text' then coalesce(masked(each), '')
                when 'words' then coalesce(masked_words(each), '')
                else coalesce(each, '')
            end,
            10000 // len(fields)
        )
    ) as fields
from listed
left join record_lines using (nth);
