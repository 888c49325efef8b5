-- Keep the rows of the staged file that are set aside, each with its reasons. Grain: one row per line and reason.
-- Needs set_aside_fields (line, fields) for these lines.
-- Binds $file_id.
insert into loads.set_aside
with own as (
    select line, generate_subscripts(reasons, 1) as rank, unnest(reasons) as why
    from staged
    where reasons is not null
),
all_reasons as (
    select line, rank, why.reason as reason, why.column_name as column_name, why.found as found from own
    union all
    select line, 1, verdict, null, found
    from verdicts
    where verdict not in ('updated', 'repeated_exact', 'repeated_older')
)
select $file_id, line, rank, reason, column_name, found, fields
from all_reasons
join set_aside_fields using (line);
