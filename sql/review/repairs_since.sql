-- How many completed repairs the list of repairs without proof is drawn from. One row a depot: depot (null: blank), repairs.
select depot, count(*) as repairs
from marts.calls
where is_completed
    and closed_at >= $closed_from::timestamp
    and closed_at < $closed_before::timestamp
    and closed_at <= $until::timestamp
group by depot;
