-- scope_*: the live records that a build works on; here: those of the units in touched_units(unit_id).
-- The marts forget those units; the build that follows makes them anew. Grain and columns as in records.*.
create or replace temp view scope_calls as
select * from records.calls where withdrawn_by is null and unit_id in (select unit_id from touched_units);

create or replace temp table scope_call_ids as select call_id from scope_calls;

create or replace temp view scope_visits as
select * from records.visits where withdrawn_by is null and call_id in (select call_id from scope_call_ids);

create or replace temp table scope_visit_ids as select visit_id from scope_visits;

create or replace temp view scope_checks as
select * from records.checks
where withdrawn_by is null
    and (call_id in (select call_id from scope_call_ids) or visit_id in (select visit_id from scope_visit_ids));

create or replace temp view scope_parts as
select * from records.parts
where withdrawn_by is null
    and (call_id in (select call_id from scope_call_ids) or visit_id in (select visit_id from scope_visit_ids));

create or replace temp view scope_units as
select * from records.units where withdrawn_by is null and unit_id in (select unit_id from touched_units);

create or replace temp view scope_filter_changes as
select * from records.filter_changes
where withdrawn_by is null and unit_id in (select unit_id from touched_units);

create or replace temp table forgotten as
select call_id from marts.calls where unit_id in (select unit_id from touched_units);

delete from marts.visits where call_id in (select call_id from forgotten);
delete from marts.episodes where episode_id in (select call_id from forgotten);
delete from marts.calls where unit_id in (select unit_id from touched_units);
delete from marts.returns where unit_id in (select unit_id from touched_units);
