-- intake: what was known of calls when they were rung in. One row a repair call of $call_ids (empty: of all), by opening.
-- Columns: those of marts.intake.
select *
from marts.intake
where len($call_ids::varchar[]) = 0 or list_contains($call_ids::varchar[], call_id)
order by opened_at, call_id;
