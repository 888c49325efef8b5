-- selection: the calls that a question is about. One definition for every figure, list and warning.
-- One row per call that was there at `as_of_end` and that the choices name; an empty list chooses everything, and
-- '' in a list what is blank or not recognised.
-- window_bit is one bit of the ten described in marts.sql; cutoffs[place] is the latest closing whose window has
-- passed (end of observation, or as_of_end where that is earlier, minus the window).
-- Columns: those of marts.calls, and
--   is_repair, is_return_trip
--   filter_disagrees  the filter date told and the one recorded lie more than 30 days apart
--   row_id      of marts.calls, to fetch further columns of a few calls
--   state       completed, open, not_a_repair, or why no work was done, as it stood at as_of_end
--   completed   a completed call, closed by then
--   judged      completed, and the window has passed
--   young       completed, and the window has not passed
--   came_back   a return is counted against it (of judged calls, all that ever will be)
--   is_callback it is counted against another call as a return
create macro marts.selection(
    window_bit, cutoffs, as_of_end, closed_from, closed_before,
    depots, technicians, causes, product_families, symptom_sets, part_sets
) as table
with present as (
    select
        *,
        rowid as row_id,
        standing <> 'not_a_repair' as is_repair,
        return_trip_of is not null as is_return_trip,
        coalesce(abs(filter_told_later_days) > 30, false) as filter_disagrees,
        if(standing <> 'not_a_repair' and closed_at > as_of_end::timestamp, 'open', standing) as state,
        is_completed and coalesce(closed_at <= as_of_end::timestamp, true) as completed,
        case
            when len(list_distinct(cutoffs::timestamp[])) = 1 then closed_at <= (cutoffs::timestamp[])[1]
            else closed_at <= (cutoffs::timestamp[])[place]
        end as window_passed
    from marts.calls
    where (as_of_end::timestamp is null or opened_at <= as_of_end::timestamp)
        and (closed_from::timestamp is null or closed_at >= closed_from::timestamp)
        and (closed_before::timestamp is null or closed_at < closed_before::timestamp)
        and (
            len(depots::varchar[]) = 0
            or list_contains(depots::varchar[], depot)
            or (list_contains(depots::varchar[], '') and depot is null)
        )
        and (
            len(technicians::varchar[]) = 0
            or list_contains(technicians::varchar[], technician)
            or (list_contains(technicians::varchar[], '') and technician is null)
        )
        and (
            len(causes::varchar[]) = 0
            or list_contains(causes::varchar[], cause)
            or (list_contains(causes::varchar[], '') and cause is null)
        )
        and (
            len(product_families::varchar[]) = 0
            or list_contains(product_families::varchar[], product_family)
            or (list_contains(product_families::varchar[], '') and product_family is null)
        )
        and (len(symptom_sets::integer[]) = 0 or list_contains(symptom_sets::integer[], symptom_set))
        and (len(part_sets::integer[]) = 0 or list_contains(part_sets::integer[], part_set))
)

select
    *,
    completed and window_passed as judged,
    completed and not window_passed as young,
    (came_back_bits & window_bit::usmallint) <> 0 as came_back,
    (is_callback_bits & window_bit::usmallint) <> 0 as is_callback
from present;
