-- How long until customers ring again: one row per group and time at which the waits of completed calls ended.
-- The wait begins at closing and ends with the first return counted against the call, or (competing) with a later
-- completed call that takes over or the unit's retirement, or with the end of observation, or after a year.
-- $by as in figures_by; 'none': all together. Times are in hours, a return's rounded up and an end's down, so that a
-- return at exactly W days is one within W days.
-- Columns: group_code (null: not recorded), hours, happened, competing, censored (counts of calls).
with waits as (
    select
        case $by
            when 'technician' then technician
            when 'depot' then depot
            when 'cause' then cause
            when 'product_family' then product_family
            when 'month' then closed_month
        end as code,
        case $by when 'symptom' then symptom_set when 'part' then part_set end as set_number,
        if($match = 'any', days_until_return_any, days_until_return) as return_days,
        least(if($match = 'any', days_until_taken_over_any, days_until_taken_over), days_until_retired) as other_days,
        least(
            365,
            (epoch(($cutoffs::timestamp[])[place]) - epoch(closed_at)) / 86400 + $window_days
        ) as followed_days
    from marts.selection(
        $window_bit, $cutoffs, $as_of_end, $closed_from, $closed_before,
        $depots, $technicians, $causes, $product_families, $symptom_sets, $part_sets
    )
    where completed
),

ended as (
    select
        code,
        set_number,
        -- a return after its unit was said to be retired shows that it was not
        coalesce(return_days <= followed_days, false) as happened,
        coalesce(other_days <= followed_days, false) and not happened as competing,
        greatest(
            0,
            case
                when happened then ceil(round(return_days * 24, 3))
                when competing then ceil(round(other_days * 24, 3))
                else floor(followed_days * 24)
            end
        )::integer as hours
    from waits
),

counted as (
    select
        code,
        set_number,
        hours,
        count_if(happened) as happened,
        count_if(competing) as competing,
        count_if(not happened and not competing) as censored
    from ended
    group by code, set_number, hours
),

one_each as (
    select if(len(symptoms) = 0, [null], symptoms) as codes, symptom_set as set_number
    from marts.symptom_sets
    where $by = 'symptom'
    union all
    select if(len(parts) = 0, [null], parts), part_set
    from marts.part_sets
    where $by = 'part'
),

with_code as (
    select unnest(one_each.codes) as group_code, counted.* exclude (code, set_number)
    from counted
    inner join one_each on one_each.set_number = counted.set_number
    where $by in ('symptom', 'part')
    union all
    select code, * exclude (code, set_number)
    from counted
    where $by not in ('symptom', 'part')
)

select
    group_code,
    hours,
    sum(happened)::bigint as happened,
    sum(competing)::bigint as competing,
    sum(censored)::bigint as censored
from with_code
group by group_code, hours
order by group_code nulls last, hours;
