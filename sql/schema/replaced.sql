-- replaced: what later files did to known rows, so that such a file can be taken back.
-- Needs schema records (the files of this folder run in the order of their names).
create schema replaced;

create table replaced.places (           -- one row per known row that a later file has unchanged, and where it stood before
    table_name varchar not null,
    file_id integer not null,            -- the later file, which counts as its origin since
    line bigint not null,
    was_file_id integer not null,
    was_line bigint not null
);

-- one row per row that another took the place of: the columns of records.*, and the file that replaced it
create table replaced.calls as select *, null::integer as replaced_by from records.calls limit 0;
create table replaced.visits as select *, null::integer as replaced_by from records.visits limit 0;
create table replaced.checks as select *, null::integer as replaced_by from records.checks limit 0;
create table replaced.parts as select *, null::integer as replaced_by from records.parts limit 0;
create table replaced.units as select *, null::integer as replaced_by from records.units limit 0;
create table replaced.filter_changes as select *, null::integer as replaced_by from records.filter_changes limit 0;
create table replaced.technicians as select *, null::integer as replaced_by from records.technicians limit 0;
create table replaced.follow_ups as select *, null::integer as replaced_by from records.follow_ups limit 0;
