-- How long until customers ring again: one row per group and time at which the waits of completed calls ended.
-- The wait begins at closing and ends with the first return counted against the call, or (competing) with a later
-- completed call that takes over or the unit's retirement, or with the end of observation, or after a year.
-- $by as in figures_by; 'none': all together. Of more than $most groups those with most calls are told apart. Times are in hours, a return's rounded up and an end's down, so that a
-- return at exactly W days is one within W days.
-- Columns: group_code (null: not recorded), is_rest (all groups not told apart), hours, happened, competing, censored
-- (counts of calls).
with waits as (
    select
        marts.group_code($by, technician, depot, cause, product_family, closed_month) as code,
        marts.set_number($by, symptom_set, part_set) as set_number,
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

ended as materialized (
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

largest as (
    select code, true as told_apart
    from ended
    group by code
    order by count(*) desc, code nulls last
    limit $most
),

counted as (
    select
        largest.code,
        ended.set_number,
        largest.told_apart is null as is_rest,
        ended.hours,
        count_if(ended.happened) as happened,
        count_if(ended.competing) as competing,
        count_if(not ended.happened and not ended.competing) as censored
    from ended
    left join largest on largest.code is not distinct from ended.code
    group by largest.code, ended.set_number, is_rest, ended.hours
),

with_code as (
    select if(sets.set_number is null, counted.code, sets.code) as group_code, counted.* exclude (code, set_number)
    from counted
    left join marts.set_codes($by) as sets on sets.set_number = counted.set_number
)

select
    group_code,
    is_rest,
    hours,
    sum(happened)::bigint as happened,
    sum(competing)::bigint as competing,
    sum(censored)::bigint as censored
from with_code
group by group_code, is_rest, hours
order by group_code nulls last, is_rest, hours;
