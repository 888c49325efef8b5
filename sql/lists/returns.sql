-- A page of returns, one row a return beside the call it is counted against; the choices name that earlier call.
-- total: how many returns there are on all pages.
with pairs as (
    select
        charged.row_id,
        returns.return_call_id,
        returns.gap_days,
        returns.return_opened_at,
        returns.return_technician,
        returns.return_cause,
        charged.call_id,
        charged.unit_id,
        charged.closed_at,
        charged.depot,
        charged.technician,
        charged.cause
    from marts.subset(
        'came_back', $days_bit, $window_bit, $cutoffs, $as_of_end, $closed_from, $closed_before,
        $depots, $technicians, $causes, $product_families, $symptom_sets, $part_sets
    ) as charged
    inner join marts.returns on returns.charged_call_id = charged.call_id
    where returns.match = $match and (returns.window_bits & $days_bit) <> 0
),

keys as (
    select
        *,
        count(*) over () as total,
        case $sort
            when 'closed_at' then epoch(closed_at)
            when 'return_opened_at' then epoch(return_opened_at)
            when 'days_between' then gap_days
        end as number_key,
        case $sort
            when 'call_id' then call_id
            when 'unit_id' then unit_id
            when 'depot' then depot
            when 'technician' then technician
            when 'cause' then cause
            when 'return_technician' then return_technician
            when 'return_cause' then return_cause
        end as text_key
    from pairs
),

page as (
    select *
    from keys
    order by
        if($descending, -number_key, number_key) nulls last,
        if($descending, text_key, null) desc nulls last,
        if($descending, null, text_key) nulls last,
        return_call_id
    limit $limit offset $offset
)

select
    charged.call_id,
    charged.unit_id,
    charged.depot,
    charged.technician,
    charged.closed_at,
    charged.closed_has_time,
    charged_symptoms.symptoms,
    charged.cause,
    charged_parts.parts,
    later.call_id as return_call_id,
    later.opened_at as return_opened_at,
    later.opened_has_time as return_opened_has_time,
    page.gap_days as days_between,
    later.technician as return_technician,
    later_symptoms.symptoms as return_symptoms,
    later.cause as return_cause,
    later.standing as return_standing,
    page.total
from page
inner join marts.calls as charged on charged.rowid = page.row_id
inner join marts.calls as later on later.call_id = page.return_call_id
inner join marts.symptom_sets as charged_symptoms on charged_symptoms.symptom_set = charged.symptom_set
inner join marts.symptom_sets as later_symptoms on later_symptoms.symptom_set = later.symptom_set
inner join marts.part_sets as charged_parts on charged_parts.part_set = charged.part_set
order by
    if($descending, -page.number_key, page.number_key) nulls last,
    if($descending, page.text_key, null) desc nulls last,
    if($descending, null, page.text_key) nulls last,
    page.return_call_id;
