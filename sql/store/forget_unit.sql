-- Take a unit out of the records, with its calls and all that belongs to them, and out of the rows that were replaced.
-- Binds $id. No rows.
create or replace temp table forgotten_calls as
select call_id from records.calls where unit_id = $id
union
select call_id from replaced.calls where unit_id = $id;

create or replace temp table forgotten_visits as
select visit_id from records.visits where call_id in (from forgotten_calls)
union
select visit_id from replaced.visits where call_id in (from forgotten_calls);

delete from records.checks where call_id in (from forgotten_calls) or visit_id in (from forgotten_visits);
delete from replaced.checks where call_id in (from forgotten_calls) or visit_id in (from forgotten_visits);
delete from records.parts where call_id in (from forgotten_calls) or visit_id in (from forgotten_visits);
delete from replaced.parts where call_id in (from forgotten_calls) or visit_id in (from forgotten_visits);
delete from records.follow_ups where call_id in (from forgotten_calls);
delete from replaced.follow_ups where call_id in (from forgotten_calls);
delete from records.visits where call_id in (from forgotten_calls);
delete from replaced.visits where call_id in (from forgotten_calls);
delete from records.filter_changes where unit_id = $id;
delete from replaced.filter_changes where unit_id = $id;
delete from records.units where unit_id = $id;
delete from replaced.units where unit_id = $id;
delete from records.calls where unit_id = $id;
delete from replaced.calls where unit_id = $id;
drop table forgotten_calls;
drop table forgotten_visits;
