-- What technicians thought first where it turned out to be $cause, before and after a lesson: one row per technician.
-- Strings of returns that are mature, with a first thought known, by the opening of their first call; those opened less than 60 days before the
-- last closing that can be judged ($cutoffs, by place) are left out: of the newest, the ones that came back are not known yet, the right ones are.
-- wrong: another cause, or no fault found; what went deeper is none. Before: from $before_from, before $before_until. After: likewise.
-- Columns: technician, wrong_before, calls_before, wrong_after, calls_after.
with strings as (
    select
        technician,
        standing in ('different', 'none_found') as wrong,
        opened_at >= $before_from::timestamp and opened_at < $before_until::timestamp as before,
        opened_at >= $after_from::timestamp and opened_at < $after_until::timestamp as after
    from marts.diagnoses
    where final_cause = $cause
        and standing is not null
        and technician is not null
        and last_closed_at <= ($cutoffs::timestamp[])[place]
        and opened_at < ($cutoffs::timestamp[])[place] - interval 60 day
)

select
    technician,
    count(*) filter (where before and wrong) as wrong_before,
    count(*) filter (where before) as calls_before,
    count(*) filter (where after and wrong) as wrong_after,
    count(*) filter (where after) as calls_after
from strings
group by technician
having calls_before + calls_after > 0
order by technician;
