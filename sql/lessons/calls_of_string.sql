-- Calls of one string of returns, as they were rung in: one row per call. Columns: call_id, unit_id, unit_hash.
select call_id, unit_id, unit_hash
from marts.calls
where coalesce(episode_id, call_id) = $episode_id
order by opened_at, call_id;
