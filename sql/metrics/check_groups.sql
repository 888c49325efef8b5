-- By what checks are grouped: one row per combination of symptoms and group of it; $by is symptom or family (the kind of complaint).
-- Columns: symptom_set, group (code; null: none, or not recognised).
with sets as (
    select symptom_set, if($by = 'family', families, symptoms) as codes from marts.symptom_sets
)

select symptom_set, unnest(if(len(codes) = 0, [null], codes)) as "group"
from sets
order by symptom_set, "group";
