-- Sums from which the design effect of units follows: one row per group.
-- A unit is a cluster: n of its calls are judged in the group, x of them are counted.
-- $sample: 64 takes all units, k takes k in 64 of them, always the same. $by as in figures_by; 'none': all together.
-- Columns: group_code, and for each of the counts came_back_family, came_back_any, first_time_fixed, no_callback_held
-- six sums: _units (with n > 0), _n, _x, _nn, _nx, _xx (sums over units of n, x, n*n, n*x, x*x).
with judged_calls as not materialized (
    select
        unit_hash,
        marts.group_code($by, technician, depot, cause, product_family, closed_month) as code,
        marts.set_number($by, symptom_set, part_set) as set_number,
        (came_back_bits & $family_bit) <> 0 as came_back_family,
        (came_back_bits & $any_bit) <> 0 as came_back_any,
        not is_callback and visits > 0 as first_time_judged,
        not is_callback and visits = 1 and not came_back as first_time_fixed,
        not $has_visits and not is_callback as no_callback_judged,
        not $has_visits and not is_callback and not came_back as no_callback_held
    from marts.selection(
        $window_bit, $cutoffs, $as_of_end, $closed_from, $closed_before,
        $depots, $technicians, $causes, $product_families, $symptom_sets, $part_sets
    )
    where judged and unit_sample < $sample
),

with_code as (
    select if(sets.set_number is null, judged_calls.code, sets.code) as group_code, judged_calls.* exclude (code, set_number)
    from judged_calls
    left join marts.set_codes($by) as sets on sets.set_number = judged_calls.set_number
),

by_unit as (
    select
        group_code,
        unit_hash,
        count(*) as judged,
        count_if(came_back_family)::bigint as came_back_family,
        count_if(came_back_any)::bigint as came_back_any,
        count_if(first_time_judged)::bigint as first_time_judged,
        count_if(first_time_fixed)::bigint as first_time_fixed,
        count_if(no_callback_judged)::bigint as no_callback_judged,
        count_if(no_callback_held)::bigint as no_callback_held
    from with_code
    group by group_code, unit_hash
)

select
    group_code,

    count_if(judged > 0)::bigint as came_back_family_units,
    sum(judged)::double as came_back_family_n,
    sum(came_back_family)::double as came_back_family_x,
    sum(judged * judged)::double as came_back_family_nn,
    sum(judged * came_back_family)::double as came_back_family_nx,
    sum(came_back_family * came_back_family)::double as came_back_family_xx,

    count_if(judged > 0)::bigint as came_back_any_units,
    sum(judged)::double as came_back_any_n,
    sum(came_back_any)::double as came_back_any_x,
    sum(judged * judged)::double as came_back_any_nn,
    sum(judged * came_back_any)::double as came_back_any_nx,
    sum(came_back_any * came_back_any)::double as came_back_any_xx,

    count_if(first_time_judged > 0)::bigint as first_time_fixed_units,
    sum(first_time_judged)::double as first_time_fixed_n,
    sum(first_time_fixed)::double as first_time_fixed_x,
    sum(first_time_judged * first_time_judged)::double as first_time_fixed_nn,
    sum(first_time_judged * first_time_fixed)::double as first_time_fixed_nx,
    sum(first_time_fixed * first_time_fixed)::double as first_time_fixed_xx,

    count_if(no_callback_judged > 0)::bigint as no_callback_held_units,
    sum(no_callback_judged)::double as no_callback_held_n,
    sum(no_callback_held)::double as no_callback_held_x,
    sum(no_callback_judged * no_callback_judged)::double as no_callback_held_nn,
    sum(no_callback_judged * no_callback_held)::double as no_callback_held_nx,
    sum(no_callback_held * no_callback_held)::double as no_callback_held_xx
from by_unit
group by group_code;
