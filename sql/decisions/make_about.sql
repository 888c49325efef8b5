-- about: one row, the version of the file of decisions.
create table if not exists about (schema_version integer not null);
