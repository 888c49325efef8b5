-- known_before: what was known of judged calls before the technician acted. One row per judged call, of the units with a
-- sample number below $sample, of 64.
-- Columns: call_id, unit_hash, closed_at, came_back; is_callback, visits (for first-time fix); the groups it can be compared in: technician, depot,
-- product_family, part_set; and what its return is expected from, as words (null: not known): kind (family of the
-- complaint; several), unit_age (band in years, from installation as recorded, else as told), product_line (the product
-- family), supply (as told, else of the unit), payer, month (of opening, year and month), follows (another: opened
-- within 30 days of a repair of the unit by another technician).
with kinds as (
    select
        symptom_set,
        case len(families) when 0 then null when 1 then families[1] else 'several' end as kind
    from marts.symptom_sets
)

select
    calls.call_id,
    calls.unit_hash,
    calls.closed_at,
    calls.came_back,
    calls.is_callback,
    calls.visits,
    calls.technician,
    calls.depot,
    calls.product_family,
    calls.part_set,
    kinds.kind,
    case
        when calls.installed_on is null then null
        when calls.opened_at < calls.installed_on + interval 1 year then '0 to 1'
        when calls.opened_at < calls.installed_on + interval 3 year then '1 to 3'
        when calls.opened_at < calls.installed_on + interval 6 year then '3 to 6'
        when calls.opened_at < calls.installed_on + interval 9 year then '6 to 9'
        else '9 and more'
    end as unit_age,
    calls.product_family as product_line,
    calls.supply,
    calls.payer,
    strftime(calls.opened_at, '%Y-%m') as month,
    if(calls.follows_another, 'another', 'no') as follows
from marts.selection(
    $window_bit, $cutoffs, $as_of_end, $closed_from, $closed_before,
    $depots, $technicians, $causes, $product_families, $symptom_sets, $part_sets
) as calls
left join kinds on kinds.symptom_set = calls.symptom_set
where calls.judged and calls.unit_sample < $sample
order by calls.closed_at, calls.call_id;
