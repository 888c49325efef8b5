-- The unit of one live call. At most one row: unit_id, unit_hash.
select unit_id, unit_hash from marts.calls where call_id = $call_id;
