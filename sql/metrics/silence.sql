-- What silence is worth: one row. Columns count calls that can be judged: judged, came_back_any (for any symptom), silent
-- (not come back for any), of the silent those asked afterwards by their answer (works, partly, no, not_reached); and of
-- all calls the office's own callback mark against ours: flagged_both, flagged_by_office_only, flagged_by_us_only.
with counted as (
    select
        count_if(judged) as judged,
        count_if(judged and not silent) as came_back_any,
        count_if(silent) as silent,
        count_if(silent and told = 'works') as works,
        count_if(silent and told = 'partly') as partly,
        count_if(silent and told = 'no') as no,
        count_if(silent and told = 'not_reached') as not_reached,
        count_if(is_repair and coalesce(office_flag, false) and is_callback) as flagged_both,
        count_if(is_repair and coalesce(office_flag, false) and not is_callback) as flagged_by_office_only,
        count_if(is_callback and not coalesce(office_flag, false)) as flagged_by_us_only
    from marts.subset(
        'all', $days_bit, $window_bit, $cutoffs, $as_of_end, $closed_from, $closed_before,
        $depots, $technicians, $causes, $product_families, $symptom_sets, $part_sets
    )
)

-- over no calls at all, count_if gives null
select coalesce(columns(*), 0)::bigint
from counted;
