-- Sets that hold one of the parts: one row a set. Column: part_set.
select part_set
from marts.part_sets
where list_has_any(parts, $parts::varchar[]) or (list_contains($parts::varchar[], '') and len(parts) = 0);
