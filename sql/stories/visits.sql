-- Visits of the calls in $call_ids, in order. Columns as in marts.visits, without unit_id.
select * exclude (unit_id)
from marts.visits
where call_id in (select unnest($call_ids::varchar[]))
order by arrived_at, call_id, visit_number;
