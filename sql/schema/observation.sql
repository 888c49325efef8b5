-- observation: until when each source, and each depot of it, was watched.
create schema marts;

create table marts.observation_ends (    -- one row per source and depot ('' for calls without one)
    source varchar not null,
    depot varchar not null,
    ends_at timestamp not null,          -- end of observation E
    source_ends_at timestamp not null,   -- E of the whole source
    ends_from varchar not null           -- extraction date, latest timestamp, own last record
);
