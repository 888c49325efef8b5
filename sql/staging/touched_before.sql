-- Mark the units whose known rows are about to be replaced by rows of the staged file.
-- Grain: one row or more per unit.
-- Binds $table.
insert into touched_units
with replaced as (select stored_row from verdicts where verdict = 'updated'),
visits_replaced as (
    select visit_id from records.checks where $table = 'checks' and rowid in (from replaced)
    union
    select visit_id from records.parts where $table = 'parts' and rowid in (from replaced)
),
calls_replaced as (
    select call_id from records.visits where $table = 'visits' and rowid in (from replaced)
    union
    select call_id from records.checks where $table = 'checks' and rowid in (from replaced)
    union
    select call_id from records.parts where $table = 'parts' and rowid in (from replaced)
    union
    select call_id from records.follow_ups where $table = 'follow_ups' and rowid in (from replaced)
    union
    select call_id from records.visits where visit_id in (from visits_replaced)
)
select unit_id from records.calls where $table = 'calls' and rowid in (from replaced)
union
select unit_id from records.units where $table = 'units' and rowid in (from replaced)
union
select unit_id from records.filter_changes where $table = 'filter_changes' and rowid in (from replaced)
union
select unit_id from records.calls where call_id in (from calls_replaced);
