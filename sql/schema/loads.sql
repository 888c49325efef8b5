-- loads: what was loaded, when, from which file, and what became of each of its rows.
create schema loads;

create table loads.loads (               -- one row per load that was committed
    load_id integer not null,
    started_at timestamp not null,
    finished_at timestamp,
    program_version varchar not null
);

create table loads.files (               -- one row per file and way of reading it; rows = loaded + updated + repeated + set_aside
    file_id integer not null,
    load_id integer not null,
    file_name varchar not null,          -- without folders
    sha256 varchar not null,             -- of the bytes
    reading_hash varchar not null,       -- of mapping, extraction date and scope: same file + same reading = nothing to do
    table_name varchar not null,
    source varchar not null,
    extracted_on timestamp,              -- as given, or read from the file name; null when unknown
    extracted_from varchar not null,     -- given, mapping, file name, unknown
    latest_at timestamp,                 -- latest timestamp among its loaded rows
    full_extract boolean not null,
    encoding varchar not null,
    separator varchar not null,
    header varchar[] not null,           -- the file's own column names
    mapping varchar not null,            -- TOML of the mapping used
    "rows" bigint not null,
    loaded bigint not null,
    updated bigint not null,
    repeated_exact bigint not null,
    repeated_older bigint not null,
    set_aside bigint not null,
    withdrawn bigint not null            -- live rows of earlier files that a full extract no longer has
);

create table loads.set_aside (           -- one row per row set aside and reason; the first reason has rank 1
    file_id integer not null,
    line bigint not null,                -- physical line in the file, 1-based
    rank integer not null,
    reason varchar not null,             -- a code of analytics/intake/reasons.toml
    column_name varchar,                 -- our name of the column at fault, null for the whole row
    found varchar,                       -- the value found, cut to 200 characters
    fields varchar[] not null            -- the row as it stood, cut to 10,000 characters in all
);

create table loads.mended (              -- one row per row set aside that was mended and loaded again; it is listed no longer
    file_id integer not null,            -- and line: the row as in loads.set_aside
    line bigint not null,
    mended_by integer not null           -- the file that brought it mended, or set it aside anew
);

-- one row per file that was taken back: its row of loads.files as it was, and the load that took it back
create table loads.taken_back as select *, null::integer as taken_back_by from loads.files limit 0;
