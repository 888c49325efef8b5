-- observation: until when each source, and each depot of it, was watched. Rebuilt whole at each build.

create table marts.observation_ends (    -- one row per source and depot ('' for calls without one)
    place integer not null,              -- number of the source and depot, as in marts.calls; kept for good
    source varchar not null,
    depot varchar not null,
    ends_at timestamp not null,          -- end of observation E
    source_ends_at timestamp not null,   -- E of the whole source
    ends_from varchar not null,          -- extraction date, latest timestamp, own last record
    source_ends_from varchar not null    -- extraction date, latest timestamp
);
