-- Doubt the staged calls that lie at $far_moment, long after everything else of their source. Grain: one row per call.
insert into doubtful
select
    rowid + 1,
    'far_after_others',
    if(closed_at = $far_moment, 'closed_at', 'opened_at'),
    strftime(if(closed_at = $far_moment, closed_at, opened_at), '%Y-%m-%d %H:%M')
from staged
where moment = $far_moment and reasons is null;
