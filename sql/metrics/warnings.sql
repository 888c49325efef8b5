-- What bends the figures of the calls chosen: one row.
-- Columns count calls; returns_before_closing and visits_after_closing count those;
-- median_lag_days is in days, over the units with a sample number below $sample, of 64.
-- What is rare is counted among the calls marked as odd, which are few.
with chosen as not materialized (
    select *
    from marts.selection(
        $window_bit, $cutoffs, $as_of_end, $closed_from, $closed_before,
        $depots, $technicians, $causes, $product_families, $symptom_sets, $part_sets
    )
),

lag as (
    select median(closing_lag_days) as median_lag_days
    from chosen
    where unit_sample < $sample and completed
),

rare as (
    select
        coalesce(sum(returns_before_closing), 0)::bigint as returns_before_closing,
        count_if(visits_after_closing > 0)::bigint as visited_after_closing,
        coalesce(sum(visits_after_closing), 0)::bigint as visits_after_closing,
        count_if(is_repair and office_flag is true and is_callback)::bigint as flagged_both,
        count_if(is_repair and office_flag is true and not is_callback)::bigint as flagged_by_office_only,
        count_if(is_callback and office_flag is not true)::bigint as flagged_by_us_only,
        count_if(judged and (leak_bits & $days_bit) <> 0)::bigint as leaks_after_our_work
    from chosen
    where is_odd
)

-- over no calls at all, count_if gives null
select coalesce(columns(* exclude (median_lag_days)), 0), median_lag_days
from lag
cross join rare;
