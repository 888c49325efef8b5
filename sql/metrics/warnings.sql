-- What bends the figures of the calls chosen: one row.
-- $sample: the median is taken over units with a sample number below it, of 64. Columns count calls; same_day_pairs counts pairs of calls; median_lag_days is in days; flagged: any office mark.
select
    count_if(completed and not (opened_has_time and closed_has_time))::bigint as without_times,
    count_if(completed)::bigint as completed,
    coalesce(sum(same_day_calls) filter (completed and same_day_calls > 0), 0)::bigint as same_day_pairs,
    median(closing_lag_days) filter (completed and unit_sample < $sample) as median_lag_days,
    count_if(completed and closing_lag_days >= 1)::bigint as closed_late,
    coalesce(sum(returns_before_closing) filter (returns_before_closing > 0), 0)::bigint as returns_before_closing,
    count_if(visits_after_closing > 0)::bigint as visited_after_closing,
    coalesce(sum(visits_after_closing) filter (visits_after_closing > 0), 0)::bigint as visits_after_closing,
    count_if(office_flag is not null)::bigint as flagged,
    count_if(is_repair and office_flag is true and is_callback)::bigint as flagged_both,
    count_if(is_repair and office_flag is true and not is_callback)::bigint as flagged_by_office_only,
    count_if(is_callback and office_flag is not true)::bigint as flagged_by_us_only,
    count_if(judged and (leak_bits & $days_bit) <> 0)::bigint as leaks_after_our_work
from marts.selection(
    $window_bit, $cutoffs, $as_of_end, $closed_from, $closed_before,
    $depots, $technicians, $causes, $product_families, $symptom_sets, $part_sets
);
