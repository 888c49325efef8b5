-- staged: the rows of one file of follow-up questions, typed and judged on their own.
-- Grain: one row per record of the file, in its order. Columns: as in staging/calls, then records.follow_ups.
-- Binds $skip, $path, $columns, $separator, $quote, $line_end, $longest_line, $asked_on_formats, $asked_on_zoned, $header_word,
-- $latest, $latest_reason.
create or replace temp table staged as
with lacking as (
    select
        null::bigint as source_line, null::varchar as call_id, null::varchar as asked_on, null::varchar as answer,
        null::varchar as source
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
        as_text(call_id) as call_id,
        as_words(asked_on) as asked_written,
        as_moment(asked_on, $asked_on_formats, $asked_on_zoned) as asked_on,
        as_words(answer) as answer,
        as_text(source) as asked_by
    from incoming
),
judged as (
    select
        *,
        call_id is not null and call_id <> $header_word and asked_on is not null and answer is not null
            and moment_holds(asked_written, asked_on, $latest) as holds
    from typed
)
select
    source_line,
    hash(call_id, asked_on::date) as key_hash,
    hash(call_id, asked_on::date, answer, asked_by) as row_hash,
    asked_on as moment,
    case
        when not holds then reasons_of([
            header_reason('call_id', call_id, $header_word),
            filled_reason('call_id', call_id),
            filled_reason('asked_on', asked_written),
            filled_reason('answer', answer),
            moment_reason('asked_on', asked_written, asked_on, $latest, $latest_reason)
        ])
    end as reasons,
    call_id, asked_on::date as asked_on, answer, asked_by
from judged;
