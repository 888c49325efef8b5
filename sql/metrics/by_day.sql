-- Callback counts by day of closing: one row per day on which a completed call was closed.
-- Columns: day, judged, came_back (of them), young (completed, too young to judge); all count calls.
select
    closed_at::date as day,
    count_if(judged)::bigint as judged,
    count_if(judged and came_back)::bigint as came_back,
    count_if(young)::bigint as young
from marts.selection(
    $window_bit, $cutoffs, $as_of_end, $closed_from, $closed_before,
    $depots, $technicians, $causes, $product_families, $symptom_sets, $part_sets
)
where completed
group by all
order by day;
