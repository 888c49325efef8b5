-- Repairs of one cause that came back, before and after a lesson: one row per technician whose repair it was.
-- Binds what marts.selection does, with the cause among $causes. Before: closed from $before_from, before $before_until. After: likewise.
-- Columns: technician, wrong_before (came back), calls_before (judged), wrong_after, calls_after.
with judged as (
    select
        technician,
        came_back,
        closed_at >= $before_from::timestamp and closed_at < $before_until::timestamp as before,
        closed_at >= $after_from::timestamp and closed_at < $after_until::timestamp as after
    from marts.selection(
        $window_bit, $cutoffs, $as_of_end, $closed_from, $closed_before,
        $depots, $technicians, $causes, $product_families, $symptom_sets, $part_sets
    )
    where judged and technician is not null
)

select
    technician,
    count(*) filter (where before and came_back) as wrong_before,
    count(*) filter (where before) as calls_before,
    count(*) filter (where after and came_back) as wrong_after,
    count(*) filter (where after) as calls_after
from judged
group by technician
having calls_before + calls_after > 0
order by technician;
