-- Second trips for a part: one row a call, whatever is chosen. Either a visit of it ended with a part on order and
-- another followed, or it was opened to finish a part-on-order call (a return trip, whose every visit is a further one).
-- Parts are those fitted from that next visit on. One recorded for the call alone, without a visit, counts as fitted
-- then: whether it was fitted before can not be told, and to ask for it aboard claims no saving that there was not.
-- Columns: row_id (of marts.calls), call_id, parts (codes, sorted, separated by blanks; '' where none is recognised),
-- not_recognised (parts fitted that are in no catalogue).
with waited as (
    select call_id, min(visit_number) as visit_number
    from marts.visits
    where waits_for_part
    group by call_id
),

resumed as (
    select visits.call_id, min(visits.arrived_at) as resumed_at
    from marts.visits
    inner join waited on waited.call_id = visits.call_id and visits.visit_number > waited.visit_number
    group by visits.call_id
),

trips as (
    select
        calls.rowid as row_id,
        calls.call_id,
        if(calls.return_trip_of is null, resumed.resumed_at, null) as resumed_at,
        calls.return_trip_of is null and resumed.call_id is null as not_resumed
    from marts.calls
    left join resumed on resumed.call_id = calls.call_id
    where calls.return_trip_of is not null or (calls.waited_for_part and calls.visits > 1)
),

fitted as (
    select trips.row_id, parts.part as written
    from trips
    inner join records.visits on visits.call_id = trips.call_id and visits.withdrawn_by is null
    inner join records.parts on parts.visit_id = visits.visit_id and parts.withdrawn_by is null
    where not trips.not_resumed and (trips.resumed_at is null or visits.arrived_at >= trips.resumed_at)
    union all
    select trips.row_id, parts.part
    from trips
    inner join records.parts on parts.call_id = trips.call_id and parts.withdrawn_by is null
    where parts.visit_id is null
),

coded as (
    select fitted.row_id, unnest(if(len(coalesce(codings.codes, [])) = 0, [null], codings.codes)) as part
    from fitted
    left join texts.codings on codings.field = 'part' and codings.text = fitted.written
),

by_trip as (
    select
        row_id,
        array_to_string(list_sort(list(distinct part) filter (part is not null)), ' ') as parts,
        count_if(part is null) as not_recognised
    from coded
    group by row_id
)

select
    trips.row_id,
    trips.call_id,
    coalesce(by_trip.parts, '') as parts,
    coalesce(by_trip.not_recognised, 0)::bigint as not_recognised
from trips
left join by_trip on by_trip.row_id = trips.row_id
order by trips.row_id;
