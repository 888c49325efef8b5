-- Sets that hold one of the symptoms and one of the families; an empty list of either chooses all.
-- One row a set. Column: symptom_set.
select symptom_set
from marts.symptom_sets
where (
    len($symptoms::varchar[]) = 0
    or list_has_any(symptoms, $symptoms::varchar[])
    or (list_contains($symptoms::varchar[], '') and len(symptoms) = 0)
)
and (
    len($families::varchar[]) = 0
    or list_has_any(families, $families::varchar[])
    or (list_contains($families::varchar[], '') and len(families) = 0)
);
