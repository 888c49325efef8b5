-- technician_codes: one row a technician who was ever in the records when a coded copy was made; kept, so that a code stays.
create table if not exists technician_codes (
    technician text primary key,  -- as loaded
    code text not null unique     -- drawn by lot
);
