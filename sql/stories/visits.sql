-- Visits of the calls in $call_ids, in order. Columns as in marts.visits.
select *
from marts.visits
where call_id in (select unnest($call_ids::varchar[]))
order by arrived_at, call_id, visit_number;
