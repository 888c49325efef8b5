-- What bends the figures of the calls chosen: one row.
-- Columns count calls; returns_before_closing and visits_after_closing count those;
-- median_lag_days is in days, over the units with a sample number below $sample, of 64.
-- What is rare is counted among the calls marked as odd, which are few.
with counted as (
    select
        median(closing_lag_days) filter (unit_sample < $sample and completed) as median_lag_days,
        sum(returns_before_closing) filter (is_odd) as returns_before_closing,
        count_if(is_odd and visits_after_closing > 0) as visited_after_closing,
        sum(visits_after_closing) filter (is_odd) as visits_after_closing,
        count_if(is_odd and is_repair and office_flag is true and is_callback) as flagged_both,
        count_if(is_odd and is_repair and office_flag is true and not is_callback) as flagged_by_office_only,
        count_if(is_odd and is_callback and office_flag is not true) as flagged_by_us_only,
        count_if(is_odd and judged and (leak_bits & $days_bit) <> 0) as leaks_after_our_work
    from marts.selection(
        $window_bit, $cutoffs, $as_of_end, $closed_from, $closed_before,
        $depots, $technicians, $causes, $product_families, $symptom_sets, $part_sets
    )
    where is_odd or unit_sample < $sample
)

-- over no calls at all, count_if gives null
select coalesce(columns(* exclude (median_lag_days)), 0)::bigint, median_lag_days
from counted;
