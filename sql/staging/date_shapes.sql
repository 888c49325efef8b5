-- How the dates of one column ($column) of a file are written. Grain: one row per shape (the value with every digit as
-- 9), the 200 most frequent. Columns: shape, "rows", example and line (of the first), only_day_first and
-- only_month_first (values that are dates in one order alone), alike (the same number in both places).
-- Binds $skip, $path, $columns, $separator, $quote, $line_end.
with numbered as (
    from numbered_rows($path, $skip, $columns, $separator, $quote, $line_end, $longest_line)
    union all by name
    select null::bigint as source_line where false
),
written as (
    select line_of(source_line, record_lines.line, nth, $skip) as line, as_text(columns($column)) as value
    from numbered
    left join record_lines using (nth)
),
parted as (
    select
        line,
        value,
        translate(value, '012345678', '999999999') as shape,
        regexp_extract(value, '^(\d{1,2})[-/. ](\d{1,2})[-/. ]\d', ['one', 'two']) as places
    from written
    where value is not null
),
numbers as (
    select *, try_cast(places.one as integer) as one, try_cast(places.two as integer) as two
    from parted
)
select
    shape,
    count(*) as "rows",
    arg_min(value, line) as example,
    min(line) as line,
    count(*) filter (where one between 13 and 31 and two <= 12) as only_day_first,
    count(*) filter (where two between 13 and 31 and one <= 12) as only_month_first,
    count(*) filter (where one = two) as alike
from numbers
group by shape
order by "rows" desc, shape
limit 200;
