-- The unit of one live call. At most one row: unit_id.
select unit_id from marts.calls where call_id = $call_id;
