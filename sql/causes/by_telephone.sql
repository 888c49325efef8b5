-- by_telephone: how often calls were settled without a visit, by their cause. One row per cause.
-- Columns: cause, calls (completed, with that cause recorded), by_telephone (of them, without a visit). No row where no visit
-- was loaded: then nothing is known of it.
select
    cause,
    count(*) as calls,
    count_if(visits = 0)::bigint as by_telephone
from marts.calls
where is_completed
    and cause is not null
    and exists (from marts.visits)
group by cause
order by cause;
