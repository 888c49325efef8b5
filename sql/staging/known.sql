-- known: rows in the store with an id that a loadable row of the staged file has too.
-- Grain: one row per stored row, live or withdrawn. Columns: stored_row (rowid in records.<table>), key_hash, row_hash,
-- file_id, source, withdrawn_by, known_from and known_to (between which moments the row was surely as it is:
-- the extraction of the file that brought it; for a withdrawn row, of the extract that no longer had it).
-- Binds $table.
create or replace temp table known as
with stored as (
    select rowid as stored_row, hash(call_id) as key_hash, row_hash, file_id, source, withdrawn_by
    from records.calls where $table = 'calls'
    union all
    select rowid, hash(visit_id), row_hash, file_id, source, withdrawn_by
    from records.visits where $table = 'visits'
    union all
    select rowid, hash(visit_id, call_id, sequence, "check", occurrence), row_hash, file_id, source, withdrawn_by
    from records.checks where $table = 'checks'
    union all
    select rowid, hash(visit_id, call_id, part, occurrence), row_hash, file_id, source, withdrawn_by
    from records.parts where $table = 'parts'
    union all
    select rowid, hash(unit_id), row_hash, file_id, source, withdrawn_by
    from records.units where $table = 'units'
    union all
    select rowid, hash(unit_id, changed_on), row_hash, file_id, source, withdrawn_by
    from records.filter_changes where $table = 'filter_changes'
    union all
    select rowid, hash(technician_id), row_hash, file_id, source, withdrawn_by
    from records.technicians where $table = 'technicians'
    union all
    select rowid, hash(call_id, asked_on), row_hash, file_id, source, withdrawn_by
    from records.follow_ups where $table = 'follow_ups'
),
moments as (
    select
        files.file_id, files.load_id, files.table_name, files.source, files.full_extract,
        coalesce(files.extracted_on, files.latest_at, timestamp '1900-01-01') as known_from,
        coalesce(files.extracted_on, loads.started_at) as known_to
    from loads.files join loads.loads using (load_id)
),
withdrawals as (
    select load_id, source, max(known_from) as known_from, max(known_to) as known_to
    from moments
    where full_extract and table_name = $table
    group by all
)
select
    stored.*,
    coalesce(withdrawals.known_from, moments.known_from) as known_from,
    coalesce(withdrawals.known_to, moments.known_to) as known_to
from stored
join moments using (file_id)
left join withdrawals on withdrawals.load_id = stored.withdrawn_by and withdrawals.source = stored.source
where key_hash in (select key_hash from staged where reasons is null);
