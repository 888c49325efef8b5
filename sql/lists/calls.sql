-- A page of the calls of a subset, one row a call, sorted by the column that $sort names; no value comes last.
-- Where $of_rows, only those of $rows (row_id of marts.calls). came_back is null while the call is too young to say, or is no completed call.
with keys as (
    select
        row_id,
        if(judged, came_back, null) as came_back,
        is_callback,
        state,
        case $sort
            when 'opened_at' then epoch(opened_at)
            when 'closed_at' then epoch(closed_at)
            when 'visits' then visits::double
            when 'filter_age_days' then filter_age_days::double
            when 'days_until_return'
                then if((came_back_bits & $window_bit) <> 0, if($match = 'any', days_until_return_any, days_until_return), null)
            when 'closing_lag_days' then closing_lag_days
        end as number_key,
        case $sort
            when 'call_id' then call_id
            when 'unit_id' then unit_id
            when 'technician' then technician
            when 'depot' then depot
            when 'cause' then cause
            when 'outcome' then outcome
            when 'product_family' then product_family
            when 'standing' then state
            when 'job_kind' then job_kind
        end as text_key
    from marts.subset(
        $subset, $days_bit, $window_bit, $cutoffs, $as_of_end, $closed_from, $closed_before,
        $depots, $technicians, $causes, $product_families, $symptom_sets, $part_sets
    )
    where not $of_rows or row_id in (select unnest($rows::bigint[]))
),

page as (
    select *
    from keys
    order by
        if($descending, -number_key, number_key) nulls last,
        if($descending, text_key, null) desc nulls last,
        if($descending, null, text_key) nulls last,
        row_id
    limit $limit offset $offset
)

select
    calls.call_id,
    calls.unit_id,
    calls.opened_at,
    calls.opened_has_time,
    calls.closed_at,
    calls.closed_has_time,
    page.state as standing,
    calls.job_kind,
    calls.depot,
    calls.technician,
    symptom_sets.symptoms,
    calls.cause,
    calls.outcome,
    calls.product_family,
    calls.visits,
    part_sets.parts,
    calls.filter_age_days,
    page.came_back,
    page.is_callback,
    if(
        (calls.came_back_bits & $window_bit) <> 0,
        if($match = 'any', calls.days_until_return_any, calls.days_until_return),
        null
    ) as days_until_return,
    calls.closing_lag_days
from page
inner join marts.calls on calls.rowid = page.row_id
inner join marts.symptom_sets on symptom_sets.symptom_set = calls.symptom_set
inner join marts.part_sets on part_sets.part_set = calls.part_set
order by
    if($descending, -page.number_key, page.number_key) nulls last,
    if($descending, page.text_key, null) desc nulls last,
    if($descending, null, page.text_key) nulls last,
    page.row_id;
