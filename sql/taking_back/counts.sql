-- What taking a file back does to the rows of its table. Grain: one row.
-- Columns: brought (live rows that it brought, also in place of others), put_back (rows that it replaced),
-- unwithdrawn (rows that it withdrew as a full extract).
-- Binds $table, $file_id, $load_id, $source, $full_extract.
with kept as (
    select file_id, line, source, withdrawn_by from records.calls where $table = 'calls'
    union all select file_id, line, source, withdrawn_by from records.visits where $table = 'visits'
    union all select file_id, line, source, withdrawn_by from records.checks where $table = 'checks'
    union all select file_id, line, source, withdrawn_by from records.parts where $table = 'parts'
    union all select file_id, line, source, withdrawn_by from records.units where $table = 'units'
    union all select file_id, line, source, withdrawn_by from records.filter_changes where $table = 'filter_changes'
    union all select file_id, line, source, withdrawn_by from records.technicians where $table = 'technicians'
    union all select file_id, line, source, withdrawn_by from records.follow_ups where $table = 'follow_ups'
),
earlier as (
    select replaced_by from replaced.calls where $table = 'calls'
    union all select replaced_by from replaced.visits where $table = 'visits'
    union all select replaced_by from replaced.checks where $table = 'checks'
    union all select replaced_by from replaced.parts where $table = 'parts'
    union all select replaced_by from replaced.units where $table = 'units'
    union all select replaced_by from replaced.filter_changes where $table = 'filter_changes'
    union all select replaced_by from replaced.technicians where $table = 'technicians'
    union all select replaced_by from replaced.follow_ups where $table = 'follow_ups'
)
select
    (
        select count(*) from kept
        where file_id = $file_id
            and line not in (select line from replaced.places where table_name = $table and file_id = $file_id)
    ) as brought,
    (select count(*) from earlier where replaced_by = $file_id) as put_back,
    (select count(*) from kept where $full_extract and withdrawn_by = $load_id and source = $source) as unwithdrawn;
