-- verdicts: what becomes of the loadable rows of the staged file that are not simply new.
-- Grain: one row per such row. Columns: nth (its number in the file, 1-based), line (physical), verdict (updated,
-- repeated_exact, repeated_older, or the code of a reason to set it aside), column_name and found (for the reason),
-- stored_row (the known row of the same id), confirms (the known row is as the file has it, and the file is certainly later).
-- Binds $ids_are_unique, $source, $known_from, $known_to, $skip.
create or replace temp table verdicts as
with loadable as (
    select rowid + 1 as nth, source_line, key_hash, row_hash
    from staged
    where reasons is null and rowid + 1 not in (select nth from doubtful)
),
keys_met_again as (
    select key_hash from loadable where $ids_are_unique group by key_hash having count(*) > 1
),
met_again as (
    select
        nth,
        source_line,
        row_number() over (partition by key_hash order by nth) as occurrence,
        min(row_hash) over (partition by key_hash) <> max(row_hash) over (partition by key_hash) as differ
    from loadable
    semi join keys_met_again using (key_hash)
),
within_file as (
    select nth, source_line, case when differ then 'two_rows_one_id' else 'repeated_exact' end as verdict
    from met_again
    where differ or occurrence > 1
),
against_store as (
    select
        loadable.nth,
        loadable.source_line,
        case
            when known.withdrawn_by is null and known.row_hash = loadable.row_hash then 'repeated_exact'
            when known.source <> $source then 'other_source'
            when $known_from > known.known_to then 'updated'
            when $known_to <= known.known_from then 'repeated_older'
            else 'newer_unknown'
        end as verdict,
        known.source,
        known.stored_row,
        $known_from > known.known_to and known.source = $source as later
    from loadable
    join known using (key_hash)
    anti join within_file using (nth)
),
judged as (
    select
        nth, source_line, verdict, null as column_name, null as found, null::bigint as stored_row, false as confirms
    from within_file
    union all
    select doubtful.nth, source_line, reason, column_name, found, null, false
    from doubtful join staged on staged.rowid + 1 = doubtful.nth
    union all
    select
        nth,
        source_line,
        verdict,
        null,
        case when verdict = 'other_source' then source end as found,
        stored_row,
        verdict = 'repeated_exact' and later as confirms
    from against_store
)
select
    nth,
    line_of(source_line, record_lines.line, nth, $skip) as line,
    verdict,
    column_name,
    found,
    stored_row,
    confirms
from judged
left join record_lines using (nth);
