-- What each return took, whatever is chosen: one row per return, call it is counted against, and match.
-- Minutes are those between arriving and leaving of visits that have both, with a time of day, and at most 12 hours apart;
-- a helper's are not counted. Parts are rows of the parts file: what they cost where that is recorded, else how many.
-- Columns: charged_row (row_id of marts.calls), match, window_bits, call_id, return_call_id, final_cause (of the string of
-- returns), visits, minutes, untimed (visits), part_money, unpriced (parts).
with return_calls as (
    select distinct return_call_id as call_id from marts.returns
),

visited as (
    select
        visits.call_id,
        if(visits.arrived_has_time, (epoch(visits.left_at) - epoch(visits.arrived_at)) / 60, null) as minutes
    from marts.visits
    semi join return_calls on return_calls.call_id = visits.call_id
),

on_site as (
    select
        call_id,
        count(*) as visits,
        sum(minutes) filter (minutes > 0 and minutes <= 720) as minutes,
        count_if(not coalesce(minutes > 0 and minutes <= 720, false)) as untimed
    from visited
    group by call_id
),

fitted as (
    select visits.call_id, parts.quantity, parts.cost
    from records.visits
    semi join return_calls on return_calls.call_id = visits.call_id
    inner join records.parts on parts.visit_id = visits.visit_id and parts.withdrawn_by is null
    where visits.withdrawn_by is null
    union all
    select parts.call_id, parts.quantity, parts.cost
    from records.parts
    semi join return_calls on return_calls.call_id = parts.call_id
    where parts.visit_id is null and parts.withdrawn_by is null
),

parts as (
    select call_id, sum(cost) as part_money, sum(quantity) filter (cost is null) as unpriced
    from fitted
    group by call_id
)

select
    calls.rowid as charged_row,
    returns.match,
    returns.window_bits,
    returns.charged_call_id as call_id,
    returns.return_call_id,
    episodes.final_cause,
    coalesce(on_site.visits, 0)::double as visits,
    coalesce(on_site.minutes, 0)::double as minutes,
    coalesce(on_site.untimed, 0)::double as untimed,
    coalesce(parts.part_money, 0)::double as part_money,
    coalesce(parts.unpriced, 0)::double as unpriced
from marts.returns
inner join marts.calls on calls.call_id = returns.charged_call_id
left join marts.episodes on episodes.episode_id = calls.episode_id
left join on_site on on_site.call_id = returns.return_call_id
left join parts on parts.call_id = returns.return_call_id
order by charged_row, returns.return_call_id;
