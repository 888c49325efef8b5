-- Doubt the staged visits that lie at $far_moment, long after everything else of their source. Grain: one row per visit.
insert into doubtful
select
    rowid + 1,
    'far_after_others',
    if(left_at = $far_moment, 'left_at', 'arrived_at'),
    strftime(if(left_at = $far_moment, left_at, arrived_at), '%Y-%m-%d %H:%M')
from staged
where moment = $far_moment and reasons is null;
