-- set_codes: the codes behind the numbers by which calls are grouped where they can have several. One row per
-- combination and code in it, for given_by 'symptom' and 'part'; no row for any other. Columns: set_number, code (null:
-- none, or not recognised).
create macro marts.set_codes(given_by) as table
with sets as (
    select symptom_set as set_number, symptoms as codes
    from marts.symptom_sets
    where given_by = 'symptom'
    union all
    select part_set, parts
    from marts.part_sets
    where given_by = 'part'
)

select set_number, unnest(if(len(codes) = 0, [null], codes)) as code
from sets;

-- The combination of a call, to look up in set_codes; null for groups of which a call is in one only.
create macro marts.set_number(given_by, symptom_set, part_set) as
case given_by when 'symptom' then symptom_set when 'part' then part_set end;

-- The group of a call, for groups of which it is in one only; null where that is not recorded, and for any other.
create macro marts.group_code(given_by, technician, depot, cause, product_family, closed_month) as
case given_by
    when 'technician' then technician
    when 'depot' then depot
    when 'cause' then cause
    when 'product_family' then product_family
    when 'month' then closed_month
end;
