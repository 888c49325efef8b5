-- set_aside_fields: the fields, as written, of the rows of the staged file that are set aside; long ones are cut so
-- that a row keeps 10,000 characters at most. Grain: one row per line.
-- Binds $skip, $path, $columns, $separator, $quote, $line_end.
create or replace temp table set_aside_fields as
with lines as (
    select line from staged where reasons is not null
    union
    select line from verdicts where verdict not in ('updated', 'repeated_exact', 'repeated_older')
),
counted as (
    select row_number() over () + $skip as counted_line, *
    from file_rows($path, $skip, $columns, $separator, $quote, $line_end)
    union all by name
    select null::bigint as source_line where false
),
listed as (
    select
        coalesce(source_line, counted_line) as line,
        list_value(*columns(* exclude (counted_line, source_line))) as fields
    from counted
    where coalesce(source_line, counted_line) in (select line from lines)
)
select
    line,
    list_transform(fields, lambda each: left(coalesce(each, ''), 10000 // len(fields))) as fields
from listed;
