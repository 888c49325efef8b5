-- Take a unit out of the records, with its calls and all that belongs to them. Binds $id. No rows.
delete from records.checks
where call_id in (select call_id from records.calls where unit_id = $id)
    or visit_id in (
        select visit_id from records.visits where call_id in (select call_id from records.calls where unit_id = $id)
    );
delete from records.parts
where call_id in (select call_id from records.calls where unit_id = $id)
    or visit_id in (
        select visit_id from records.visits where call_id in (select call_id from records.calls where unit_id = $id)
    );
delete from records.follow_ups where call_id in (select call_id from records.calls where unit_id = $id);
delete from records.visits where call_id in (select call_id from records.calls where unit_id = $id);
delete from records.filter_changes where unit_id = $id;
delete from records.units where unit_id = $id;
delete from records.calls where unit_id = $id;
