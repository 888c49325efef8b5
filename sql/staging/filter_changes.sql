-- staged: the rows of one file of filter changes, typed and judged on their own.
-- Grain: one row per record of the file, in its order. Columns: as in staging/calls, then records.filter_changes.
-- Binds $skip, $path, $columns, $separator, $quote, $line_end, $longest_line, $changed_on_formats, $changed_on_zoned, $header_word,
-- $latest, $latest_reason.
create or replace temp table staged as
with lacking as (
    select null::bigint as source_line, null::varchar as unit_id, null::varchar as changed_on
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
        as_text(unit_id) as unit_id,
        as_words(changed_on) as changed_written,
        as_moment(changed_on, $changed_on_formats, $changed_on_zoned) as changed_on
    from incoming
),
judged as (
    select
        *,
        unit_id is not null and unit_id <> $header_word and changed_on is not null
            and moment_holds(changed_written, changed_on, $latest) as holds
    from typed
)
select
    source_line,
    hash(unit_id, changed_on::date) as key_hash,
    hash(unit_id, changed_on::date) as row_hash,
    changed_on as moment,
    case
        when not holds then reasons_of([
            header_reason('unit_id', unit_id, $header_word),
            filled_reason('unit_id', unit_id),
            filled_reason('changed_on', changed_written),
            moment_reason('changed_on', changed_written, changed_on, $latest, $latest_reason)
        ])
    end as reasons,
    unit_id, changed_on::date as changed_on
from judged;
