-- staged: the rows of one file of technicians, typed and judged on their own.
-- Grain: one row per record of the file, in its order. Columns: as in staging/calls, then records.technicians.
-- Binds $skip, $path, $columns, $separator, $quote, $line_end, $longest_line, $started_on_formats, $started_on_zoned, $header_word,
-- $latest, $latest_reason.
create or replace temp table staged as
with lacking as (
    select
        null::bigint as source_line, null::varchar as technician_id, null::varchar as depot,
        null::varchar as started_on
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
        as_text(technician_id) as technician_id,
        as_text(depot) as depot,
        as_words(started_on) as started_written,
        as_moment(started_on, $started_on_formats, $started_on_zoned) as started_on
    from incoming
),
judged as (
    select
        *,
        technician_id is not null and technician_id <> $header_word
            and moment_holds(started_written, started_on, $latest) as holds
    from typed
)
select
    source_line,
    hash(technician_id) as key_hash,
    hash(technician_id, depot, started_on) as row_hash,
    started_on as moment,
    case
        when not holds then reasons_of([
            header_reason('technician_id', technician_id, $header_word),
            filled_reason('technician_id', technician_id),
            moment_reason('started_on', started_written, started_on, $latest, $latest_reason)
        ])
    end as reasons,
    technician_id, depot, started_on::date as started_on
from judged;
