-- about: what made this generation, so that a program of another version can say what to do.
create schema store;

create table store.about (               -- exactly one row
    schema_version integer not null      -- of the tables in sql/schema and sql/marts
);
