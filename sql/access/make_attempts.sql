-- attempts: one row an account name or address from which passwords were tried in vain of late.
create table if not exists attempts (
    key text primary key,        -- SHA-256 of the kind and the name or address
    failures integer not null,   -- in a row; a sign-in that succeeds takes an account's away
    last_at real not null        -- seconds since 1970, UTC
);
