-- Live rows of one table and source. Grain: one row. Columns: "rows", withdrawn (rows that load $load_id withdrew).
-- Binds $table, $source.
with kept as (
    select source, withdrawn_by from records.calls where $table = 'calls'
    union all select source, withdrawn_by from records.visits where $table = 'visits'
    union all select source, withdrawn_by from records.checks where $table = 'checks'
    union all select source, withdrawn_by from records.parts where $table = 'parts'
    union all select source, withdrawn_by from records.units where $table = 'units'
    union all select source, withdrawn_by from records.filter_changes where $table = 'filter_changes'
    union all select source, withdrawn_by from records.technicians where $table = 'technicians'
    union all select source, withdrawn_by from records.follow_ups where $table = 'follow_ups'
)
select
    count(*) filter (where withdrawn_by is null) as "rows",
    count(*) filter (where withdrawn_by = $load_id) as withdrawn
from kept
where source = $source;
