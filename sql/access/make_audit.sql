-- audit: one row an event, in the order they happened; nothing is changed or removed.
create table if not exists audit (
    number integer primary key autoincrement,
    at text not null,     -- ISO, UTC
    who text not null,    -- account, or "command line (user of the system)"
    what text not null,   -- kind of event
    about text not null   -- what it was about, in a few words; never a password or token
);
