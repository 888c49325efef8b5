-- Keep the rows of the staged file that are set aside, each with its reasons. Grain: one row per line and reason.
-- Needs set_aside_fields (nth, line, fields) for these rows. Binds $file_id.
insert into loads.set_aside
with own as (
    select rowid + 1 as nth, generate_subscripts(reasons, 1) as rank, unnest(reasons) as why
    from staged
    where reasons is not null
),
all_reasons as (
    select nth, rank, why.reason as reason, why.column_name as column_name, why.found as found from own
    union all
    select nth, 1, verdict, column_name, found
    from verdicts
    where verdict not in ('updated', 'repeated_exact', 'repeated_older')
)
select $file_id, line, rank, reason, column_name, found, fields
from all_reasons
join set_aside_fields using (nth);
