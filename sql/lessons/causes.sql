-- Causes that can be final: one row per cause, those with most wrong first thoughts first. $cutoffs as in marts.selection.
-- Columns: cause, label, strings (of returns, mature, with a first thought known), wrong (another cause first, or no fault found).
with strings as (
    select
        final_cause,
        count(*) as strings,
        count(*) filter (where standing in ('different', 'none_found')) as wrong
    from marts.diagnoses
    where standing is not null and last_closed_at <= ($cutoffs::timestamp[])[place]
    group by final_cause
)

select
    causes.code as cause,
    causes.label,
    coalesce(strings.strings, 0) as strings,
    coalesce(strings.wrong, 0) as wrong
from catalogue.causes
left join strings on strings.final_cause = causes.code
where causes.can_be_final
order by wrong desc, strings desc, causes.code;
