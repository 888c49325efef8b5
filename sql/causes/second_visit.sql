-- second_visit: how long visits take. One row.
-- Columns: minutes (mean minutes on site of visits with a leaving time of 5 minutes to 8 hours, null without any), visits (of them).
select
    avg(date_diff('second', arrived_at, left_at) / 60.0) as minutes,
    count(*) as visits
from marts.visits
where work_done
    and arrived_has_time
    and date_diff('second', arrived_at, left_at) between 300 and 28800;
