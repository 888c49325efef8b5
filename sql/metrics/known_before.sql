-- known_before: what was known of judged calls before the technician acted. One row per judged call.
-- Columns: call_id, unit_hash, closed_at, came_back; the groups it can be compared in: technician, depot, product_family,
-- part_set; and what its return is expected from, as words (null: not known): kind (family of the complaint; several),
-- unit_age (band in years, from installation as recorded), product_line (the product family), supply (as told, else of the
-- unit), payer, month (of opening, year and month), follows (another: opened within 30 days of a repair of the unit by
-- another technician).
with calls as (
    select
        selected.call_id,
        selected.unit_id,
        selected.unit_hash,
        selected.opened_at,
        selected.closed_at,
        selected.came_back,
        selected.technician,
        selected.depot,
        selected.product_family,
        selected.part_set,
        selected.symptom_set,
        selected.payer,
        selected.is_callback_bits
    from marts.selection(
        $window_bit, $cutoffs, $as_of_end, $closed_from, $closed_before,
        $depots, $technicians, $causes, $product_families, $symptom_sets, $part_sets
    ) as selected
    where selected.judged
),

supplies as (
    select text, codes[1] as code
    from texts.codings
    where field = 'supply_type' and len(codes) > 0
),

units as (
    select units.unit_id, units.installed_on, supplies.code as supply
    from records.units
    left join supplies on supplies.text = units.water_supply
    where units.withdrawn_by is null
),

told as (
    select told.call_id, supplies.code as supply
    from records.calls as told
    inner join supplies on supplies.text = told.supply_type
    where told.withdrawn_by is null
        and told.opened_at >= coalesce($closed_from::timestamp - interval 1 year, '-infinity'::timestamp)
),

kinds as (
    select
        symptom_set,
        case len(families) when 0 then null when 1 then families[1] else 'several' end as kind
    from marts.symptom_sets
),

-- a return, for any symptom within 30 days, of a repair by another technician
after_another as (
    select distinct calls.call_id
    from calls
    inner join marts.returns on returns.return_call_id = calls.call_id
    inner join marts.calls as before on before.call_id = returns.charged_call_id
    where (calls.is_callback_bits & 128) <> 0
        and returns.match = 'any'
        and (returns.window_bits & 4) <> 0
        and before.technician <> calls.technician
)

select
    calls.call_id,
    calls.unit_hash,
    calls.closed_at,
    calls.came_back,
    calls.technician,
    calls.depot,
    calls.product_family,
    calls.part_set,
    kinds.kind,
    case
        when units.installed_on is null or units.installed_on > calls.opened_at::date then null
        when calls.opened_at::date < units.installed_on + interval 1 year then '0 to 1'
        when calls.opened_at::date < units.installed_on + interval 3 year then '1 to 3'
        when calls.opened_at::date < units.installed_on + interval 6 year then '3 to 6'
        when calls.opened_at::date < units.installed_on + interval 9 year then '6 to 9'
        else '9 and more'
    end as unit_age,
    calls.product_family as product_line,
    coalesce(told.supply, units.supply) as supply,
    calls.payer,
    strftime(calls.opened_at, '%Y-%m') as month,
    if(after_another.call_id is null, 'no', 'another') as follows
from calls
left join kinds on kinds.symptom_set = calls.symptom_set
left join units on units.unit_id = calls.unit_id
left join told on told.call_id = calls.call_id
left join after_another on after_another.call_id = calls.call_id
order by calls.closed_at, calls.call_id;
