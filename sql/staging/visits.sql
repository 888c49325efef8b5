-- staged: the rows of one file of visits, typed and judged on their own.
-- Grain: one row per record of the file, in its order. Columns: as in staging/calls, then records.visits.
-- Binds $skip, $path, $columns, $separator, $quote, $line_end, $longest_line, $arrived_at_formats, $arrived_at_zoned,
-- $left_at_formats, $left_at_zoned, $header_word, $latest, $latest_reason.
create or replace temp table staged as
with lacking as (
    select
        null::bigint as source_line, null::varchar as visit_id, null::varchar as call_id,
        null::varchar as technician_id, null::varchar as helper_id, null::varchar as arrived_at,
        null::varchar as left_at, null::varchar as result
    where false
),
incoming as (
    from file_rows($path, $skip, $columns, $separator, $quote, $line_end, $longest_line)
    union all by name
    from lacking
),
typed as (
    select
        source_line,
        as_text(visit_id) as visit_id,
        as_text(call_id) as call_id,
        as_text(technician_id) as technician_id,
        as_text(helper_id) as helper_id,
        as_words(arrived_at) as arrived_written,
        as_moment(arrived_at, $arrived_at_formats, $arrived_at_zoned) as arrived_at,
        coalesce(contains(arrived_at, ':'), false) as arrived_has_time,
        as_words(left_at) as left_written,
        as_moment(left_at, $left_at_formats, $left_at_zoned) as left_at,
        contains(left_at, ':') as left_has_time,
        as_words(result) as result
    from incoming
),
judged as (
    select
        *,
        visit_id is not null and visit_id <> $header_word and call_id is not null and arrived_at is not null
            and moment_holds(arrived_written, arrived_at, $latest)
            and moment_holds(left_written, left_at, $latest)
            and not coalesce(ends_before(arrived_at, arrived_has_time, left_at, left_has_time), false) as holds
    from typed
)
select
    source_line,
    hash(visit_id) as key_hash,
    hash(visit_id, call_id, technician_id, helper_id, arrived_at, arrived_has_time, left_at, result) as row_hash,
    greatest(arrived_at, left_at) as moment,
    case
        when not holds then reasons_of([
            header_reason('visit_id', visit_id, $header_word),
            filled_reason('visit_id', visit_id),
            filled_reason('call_id', call_id),
            filled_reason('arrived_at', arrived_written),
            moment_reason('arrived_at', arrived_written, arrived_at, $latest, $latest_reason),
            moment_reason('left_at', left_written, left_at, $latest, $latest_reason),
            case when ends_before(arrived_at, arrived_has_time, left_at, left_has_time)
                then reason('left_before_arrived', 'left_at', left_written) end
        ])
    end as reasons,
    visit_id, call_id, technician_id, helper_id, arrived_at, arrived_has_time, left_at, result
from judged;
