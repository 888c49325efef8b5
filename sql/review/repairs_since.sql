-- How many completed repairs the list of repairs without proof is drawn from. One row: repairs.
select count(*) as repairs
from marts.calls
where is_completed
    and closed_at >= $closed_from::timestamp
    and closed_at < $closed_before::timestamp
    and closed_at <= $until::timestamp
    and (len($depots::varchar[]) = 0 or list_contains($depots::varchar[], coalesce(depot, '')));
