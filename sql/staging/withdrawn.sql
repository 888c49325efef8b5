-- Withdraw the live rows of a source that its full extract no longer has, where they came from a certainly older file.
-- A row one of whose ids stands in a malformed record of the extract is spared: that record may be the row.
-- Binds $source, $known_from, $file_id, $malformed (reasons), $load_id, $table.
create or replace temp table older_files as
select files.file_id
from loads.files join loads.loads using (load_id)
where files.source = $source and coalesce(files.extracted_on, loads.started_at) < $known_from;

create or replace temp table spared as
select distinct hash(trim(unnest(fields))) as id_hash
from loads.set_aside
where file_id = $file_id and reason in (select unnest($malformed));

update records.calls set withdrawn_by = $load_id
where $table = 'calls' and withdrawn_by is null and file_id in (from older_files)
    and hash(call_id) not in (select key_hash from staged)
    and hash(call_id) not in (from spared);
update records.visits set withdrawn_by = $load_id
where $table = 'visits' and withdrawn_by is null and file_id in (from older_files)
    and hash(visit_id) not in (select key_hash from staged)
    and hash(visit_id) not in (from spared);
update records.checks set withdrawn_by = $load_id
where $table = 'checks' and withdrawn_by is null and file_id in (from older_files)
    and hash(visit_id, call_id, sequence, "check", occurrence) not in (select key_hash from staged)
    and hash(visit_id) not in (from spared)
    and hash(call_id) not in (from spared);
update records.parts set withdrawn_by = $load_id
where $table = 'parts' and withdrawn_by is null and file_id in (from older_files)
    and hash(visit_id, call_id, part, occurrence) not in (select key_hash from staged)
    and hash(visit_id) not in (from spared)
    and hash(call_id) not in (from spared);
update records.units set withdrawn_by = $load_id
where $table = 'units' and withdrawn_by is null and file_id in (from older_files)
    and hash(unit_id) not in (select key_hash from staged)
    and hash(unit_id) not in (from spared);
update records.filter_changes set withdrawn_by = $load_id
where $table = 'filter_changes' and withdrawn_by is null and file_id in (from older_files)
    and hash(unit_id, changed_on) not in (select key_hash from staged)
    and hash(unit_id) not in (from spared);
update records.technicians set withdrawn_by = $load_id
where $table = 'technicians' and withdrawn_by is null and file_id in (from older_files)
    and hash(technician_id) not in (select key_hash from staged)
    and hash(technician_id) not in (from spared);
update records.follow_ups set withdrawn_by = $load_id
where $table = 'follow_ups' and withdrawn_by is null and file_id in (from older_files)
    and hash(call_id, asked_on) not in (select key_hash from staged)
    and hash(call_id) not in (from spared);
