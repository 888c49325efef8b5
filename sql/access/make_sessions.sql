-- sessions: one row a browser that is signed in.
create table if not exists sessions (
    token_hash text primary key,  -- SHA-256 of the token; the token itself is only in the browser
    user_number integer not null,
    made_at real not null,        -- seconds since 1970, UTC, as the next
    seen_at real not null
);
