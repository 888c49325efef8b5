-- settings: one row a setting that somebody changed.
create table if not exists settings (
    name text primary key,
    value text not null
);
