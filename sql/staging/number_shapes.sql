-- What the numbers of one column ($column) of a file say about its decimal sign. Grain: one row.
-- Columns: "rows" (values that hold a comma or a point); comma and point (values that are numbers with that decimal
-- sign alone); unclear (values that are one number with a decimal comma and another with a decimal point);
-- example and line (of the first unclear one).
-- Binds $skip, $path, $columns, $separator, $quote, $line_end.
with numbered as (
    from numbered_rows($path, $skip, $columns, $separator, $quote, $line_end, $longest_line)
    union all by name
    select null::bigint as source_line where false
),
written as (
    select
        line_of(source_line, record_lines.line, nth, $skip) as line,
        regexp_extract(columns($column), '[-+]?\d[\d.,]*') as value
    from numbered
    left join record_lines using (nth)
),
judged as (
    select
        line,
        value,
        regexp_full_match(
            value, '[-+]?(\d*,(\d{1,2}|\d{4,})|0,\d+|\d{4,},\d+|\d{1,3}(\.\d{3})+,\d+|\d{1,3}(\.\d{3}){2,})'
        ) as is_comma,
        regexp_full_match(
            value, '[-+]?(\d*\.(\d{1,2}|\d{4,})|0\.\d+|\d{4,}\.\d+|\d{1,3}(,\d{3})+\.\d+|\d{1,3}(,\d{3}){2,})'
        ) as is_point,
        regexp_full_match(value, '[-+]?\d{1,3},\d{3}') as is_unclear
    from written
    where contains(value, ',') or contains(value, '.')
)
select
    count(*) as "rows",
    count(*) filter (where is_comma) as comma,
    count(*) filter (where is_point) as point,
    count(*) filter (where is_unclear and not is_comma) as unclear,
    arg_min(value, line) filter (where is_unclear and not is_comma) as example,
    min(line) filter (where is_unclear and not is_comma) as line
from judged;
