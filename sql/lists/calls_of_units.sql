-- Repair calls of the units in $unit_ids, oldest first, for the story of each. No duplicates and no return trips.
-- Columns: unit_id, opened_on, cause (code; null: not recorded).
with of_hash as materialized (           -- the hash is found fast; the id then settles it
    select unit_id, call_id, opened_at, standing, return_trip_of, cause
    from marts.calls
    where unit_hash in (select hash(unnest($unit_ids::varchar[])))
)

select
    unit_id,
    opened_at::date as opened_on,
    cause
from of_hash
where unit_id in (select unnest($unit_ids::varchar[]))
    and standing not in ('not_a_repair', 'duplicate')
    and return_trip_of is null
order by unit_id, opened_at, call_id;
