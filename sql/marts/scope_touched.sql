-- scope_*: the live records that a build works on, one row a record; here: those of the units in touched_units(unit_id).
-- Temporary, grain and columns as in records.*. The marts forget those units; the build that follows makes them anew.
create or replace temp table touched_calls as
select * from records.calls where withdrawn_by is null and unit_id in (select unit_id from touched_units);

create or replace temp table touched_visits as
select * from records.visits where withdrawn_by is null and call_id in (select call_id from touched_calls);

create or replace temp table touched_checks as
select * from records.checks
where withdrawn_by is null and visit_id in (select visit_id from touched_visits)
union all
select * from records.checks
where withdrawn_by is null and visit_id is null and call_id in (select call_id from touched_calls);

create or replace temp table touched_parts as
select * from records.parts
where withdrawn_by is null and visit_id in (select visit_id from touched_visits)
union all
select * from records.parts
where withdrawn_by is null and visit_id is null and call_id in (select call_id from touched_calls);

create or replace temp table forgotten as
select call_id from marts.calls where unit_id in (select unit_id from touched_units);

create or replace temp view scope_calls as from touched_calls;
create or replace temp view scope_visits as from touched_visits;
create or replace temp view scope_checks as from touched_checks;
create or replace temp view scope_parts as from touched_parts;
create or replace temp view scope_units as
select * from records.units where withdrawn_by is null and unit_id in (select unit_id from touched_units);
create or replace temp view scope_filter_changes as
select * from records.filter_changes
where withdrawn_by is null and unit_id in (select unit_id from touched_units);

delete from marts.visits where call_id in (select call_id from forgotten);
delete from marts.episodes where episode_id in (select call_id from forgotten);
delete from marts.calls where unit_id in (select unit_id from touched_units);
delete from marts.returns where unit_id in (select unit_id from touched_units);
