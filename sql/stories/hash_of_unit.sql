-- The hash of a unit as its calls have it. At most one row: unit_hash.
select unit_hash from marts.calls where unit_id = $unit_id limit 1;
