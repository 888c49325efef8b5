-- Calls of one string of returns of a unit ($unit_hash finds them fast), as they were rung in: one row per call.
-- Columns: call_id, unit_id, unit_hash.
select call_id, unit_id, unit_hash
from marts.calls
where unit_hash = $unit_hash::ubigint and coalesce(episode_id, call_id) = $episode_id
order by opened_at, call_id;
