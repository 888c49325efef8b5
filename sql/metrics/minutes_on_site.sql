-- How long visits last: one row. Columns: visits, timed (with times of arriving and leaving at most 12 hours apart), and
-- median_minutes of those (null without any).
with lasted as (
    select if(arrived_has_time, (epoch(left_at) - epoch(arrived_at)) / 60, null) as minutes
    from marts.visits
)

select
    count(*) as visits,
    count_if(coalesce(minutes > 0 and minutes <= 720, false))::bigint as timed,
    (median(minutes) filter (minutes > 0 and minutes <= 720))::double as median_minutes
from lasted;
