-- Until when the records that a review is about reach, and the last weekdays with records before that. One row.
-- Columns: until (the latest end of observation, or $as_of_end where that is earlier), weekdays (list of days from Monday to
-- Friday on which a call was opened, latest first; at most two, of the last three weeks).
with reach as (
    select least(max(ends_at), coalesce($as_of_end::timestamp, max(ends_at))) as until
    from marts.observation_ends
),

weekdays as (
    select distinct opened_at::date as opened_on
    from marts.calls
    where opened_at <= (select until from reach)
        and opened_at >= (select until from reach) - interval 21 day
        and isodow(opened_at) <= 5
    order by opened_on desc
    limit 2
)

select
    reach.until,
    (select list(opened_on order by opened_on desc) from weekdays) as weekdays
from reach;
