-- staged: the rows of one file of checks, typed and judged on their own.
-- Grain: one row per record of the file, in its order. Columns: as in staging/calls, then records.checks.
-- A reading that is no number ("OL") is no fault: it stays as reading_text. A unit written behind the number
-- ("12 psi") counts where it is one of $unit_spellings; $reading_in is the unit of the whole column, if it has one.
-- Binds $skip, $path, $columns, $separator, $quote, $line_end, $longest_line, $sequence_sign, $reading_sign, $minutes_sign,
-- $minutes_scale, $header_word.
create or replace temp table staged as
with lacking as (
    select
        null::bigint as source_line, null::varchar as visit_id, null::varchar as call_id, null::varchar as sequence,
        null::varchar as "check", null::varchar as reading, null::varchar as reading_unit, null::varchar as state,
        null::varchar as finding, null::varchar as minutes
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
        as_words(sequence) as sequence_written,
        as_number(sequence, $sequence_sign) as sequence_number,
        as_words("check") as "check",
        as_words(reading) as reading_text,
        as_number(reading, $reading_sign) as reading_alone,
        as_words(reading_unit) as unit_written,
        as_words(state) as state,
        as_words(finding) as finding,
        as_words(minutes) as minutes_written,
        as_number(minutes, $minutes_sign) * $minutes_scale as minutes
    from incoming
),
measured as (
    select
        *,
        case when reading_alone is null and reading_text is not null
            then regexp_extract(reading_text, '^([-+]?[0-9][0-9.,]*)\s*([^0-9\s].*)$', ['number', 'unit'])
        end as parted
    from typed
),
with_units as (
    select *, coalesce(list_contains($unit_spellings, unit_key(parted.unit)), false) as has_unit
    from measured
),
judged as (
    select
        *,
        coalesce(reading_alone, case when has_unit then as_number(parted.number, $reading_sign) end) as reading,
        coalesce(
            unit_written,
            case when has_unit then parted.unit end,
            case when reading_text is not null then $reading_in end
        ) as reading_unit,
        (visit_id is not null or call_id is not null) and "check" is not null and "check" <> $header_word
            and (sequence_written is null or coalesce(sequence_number = floor(sequence_number), false))
            and (minutes_written is null or minutes is not null) as holds
    from with_units
)
select
    source_line,
    hash(visit_id, call_id, sequence_number::integer, "check", 1) as key_hash,
    hash(visit_id, call_id, sequence_number::integer, "check", reading, reading_text, reading_unit, state, finding, minutes)
        as row_hash,
    null::timestamp as moment,
    case
        when not holds then reasons_of([
            header_reason('check', "check", $header_word),
            case when visit_id is null and call_id is null then reason('missing_value', 'visit_id', null) end,
            filled_reason('check', "check"),
            number_reason('sequence', sequence_written, sequence_number),
            case when sequence_number <> floor(sequence_number)
                then reason('not_a_whole_number', 'sequence', sequence_written) end,
            number_reason('minutes', minutes_written, minutes)
        ])
    end as reasons,
    visit_id, call_id, sequence_number::integer as sequence, "check", 1 as occurrence, reading, reading_text,
    reading_unit, state, finding, minutes
from judged;

-- Equal checks of one file are told apart by counting them.
create or replace temp table counted_again as
select rowid as staged_row, row_number() over (partition by key_hash order by rowid) as occurrence
from staged
where reasons is null
    and key_hash in (select key_hash from staged where reasons is null group by key_hash having count(*) > 1);

update staged
set occurrence = again.occurrence, key_hash = hash(visit_id, call_id, sequence, "check", again.occurrence::integer)
from counted_again as again
where staged.rowid = again.staged_row and again.occurrence > 1;
