-- users: one row an account of the dashboard.
create table if not exists users (
    number integer primary key autoincrement,  -- never given twice, so that a session of a removed account fits no other
    name text not null,
    name_key text not null unique,             -- the name as compared: case and spaces do not tell accounts apart
    role text not null,                        -- look, settle, manage
    password_hash text not null,               -- Argon2id, with its salt and parameters
    made_at text not null                      -- ISO, UTC
);
