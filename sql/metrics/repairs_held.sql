-- repairs_held: which repairs of a cause came back. One row per judged call with a cause that can be a final one and a
-- technician; which calls: as in marts.selection.
-- Columns: row_id (of marts.calls), closed_at, technician, cause (as recorded on the call), happened (it came back); and the mix, as in
-- metrics/first_thoughts.
select
    calls.row_id,
    calls.closed_at,
    calls.technician,
    calls.cause,
    calls.came_back as happened,
    case len(sets.families) when 0 then null when 1 then sets.families[1] else 'several' end as kind,
    case len(sets.symptoms) when 0 then null when 1 then sets.symptoms[1] else 'several' end as symptom,
    calls.product_family,
    calls.supply,
    calls.filter_age_band
from marts.selection(
    $window_bit, $cutoffs, $as_of_end, $closed_from, $closed_before,
    $depots, $technicians, $causes, $product_families, $symptom_sets, $part_sets
) as calls
inner join catalogue.causes on causes.code = calls.cause and causes.can_be_final
left join marts.symptom_sets as sets on sets.symptom_set = calls.symptom_set
where calls.judged and calls.technician is not null;
