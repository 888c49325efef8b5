-- scope_*: the live records that a build works on; here: all of them.
-- Temporary views; grain and columns as in records.*.
create or replace temp view scope_calls as select * from records.calls where withdrawn_by is null;
create or replace temp view scope_visits as select * from records.visits where withdrawn_by is null;
create or replace temp view scope_checks as select * from records.checks where withdrawn_by is null;
create or replace temp view scope_parts as select * from records.parts where withdrawn_by is null;
create or replace temp view scope_units as select * from records.units where withdrawn_by is null;
create or replace temp view scope_filter_changes as select * from records.filter_changes where withdrawn_by is null;

delete from marts.calls;
delete from marts.returns;
delete from marts.episodes;
delete from marts.visits;
