-- Mark the units of the rows that the staged file brought or withdrew.
-- Grain: one row or more per unit.
-- Binds $table, $load_id, $file_id.
insert into touched_units
with unchanged as (select line from verdicts where confirms),
visits_changed as (
    select visit_id from records.checks
    where $table = 'checks' and (withdrawn_by = $load_id or (file_id = $file_id and line not in (from unchanged)))
    union
    select visit_id from records.parts
    where $table = 'parts' and (withdrawn_by = $load_id or (file_id = $file_id and line not in (from unchanged)))
),
calls_changed as (
    select call_id from records.visits
    where $table = 'visits' and (withdrawn_by = $load_id or (file_id = $file_id and line not in (from unchanged)))
    union
    select call_id from records.checks
    where $table = 'checks' and (withdrawn_by = $load_id or (file_id = $file_id and line not in (from unchanged)))
    union
    select call_id from records.parts
    where $table = 'parts' and (withdrawn_by = $load_id or (file_id = $file_id and line not in (from unchanged)))
    union
    select call_id from records.follow_ups
    where $table = 'follow_ups' and (withdrawn_by = $load_id or (file_id = $file_id and line not in (from unchanged)))
    union
    select call_id from records.visits where visit_id in (from visits_changed)
)
select unit_id from records.calls
where $table = 'calls' and (withdrawn_by = $load_id or (file_id = $file_id and line not in (from unchanged)))
union
select unit_id from records.units
where $table = 'units' and (withdrawn_by = $load_id or (file_id = $file_id and line not in (from unchanged)))
union
select unit_id from records.filter_changes
where $table = 'filter_changes' and (withdrawn_by = $load_id or (file_id = $file_id and line not in (from unchanged)))
union
select unit_id from records.calls where call_id in (from calls_changed);
