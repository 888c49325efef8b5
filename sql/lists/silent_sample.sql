-- Silent calls to ask about, one row a call, drawn at random: $wanted of those whose window has passed within the last
-- $lately days before their end of observation, nobody having been asked yet; one a unit. The same $draw draws the same.
with silent as (
    select
        row_id,
        unit_hash,
        md5(call_id || $draw) as lot
    from marts.subset(
        'silent', $days_bit, $window_bit, $cutoffs, $as_of_end, $closed_from, $closed_before,
        $depots, $technicians, $causes, $product_families, $symptom_sets, $part_sets
    )
    where told is null
        and closed_at > ($cutoffs::timestamp[])[place] - to_days($lately::integer)
),

one_a_unit as (
    select arg_min(row_id, lot) as row_id, min(lot) as lot
    from silent
    group by unit_hash
    order by lot
    limit $wanted
)

select
    calls.call_id,
    calls.unit_id,
    calls.depot,
    calls.closed_at,
    symptom_sets.symptoms,
    calls.cause,
    part_sets.parts
from one_a_unit
inner join marts.calls on calls.rowid = one_a_unit.row_id
inner join marts.symptom_sets on symptom_sets.symptom_set = calls.symptom_set
inner join marts.part_sets on part_sets.part_set = calls.part_set
order by one_a_unit.lot;
