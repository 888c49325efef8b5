-- records: one table per kind of row in the data contract, typed, with the sender's words kept as written.
-- Grain: one live row per key (see each table). Times are local wall-clock times of the depot, without zone.
-- A `*_has_time` column is false where the sender gave a date only; the time is then midnight.
-- Provenance on every table: file_id (loads.files), line (physical line in that file, 1-based),
-- row_hash (of the canonical text of the row), withdrawn_by (load_id that withdrew the row, null while it is live).
-- Ids that hardly repeat are kept uncompressed: looking for a way to compress them costs more than it saves.
create schema records;

create table records.calls (             -- key: call_id
    call_id varchar using compression uncompressed not null,
    unit_id varchar using compression uncompressed not null,
    opened_at timestamp not null,
    opened_has_time boolean not null,
    closed_at timestamp,
    closed_has_time boolean,
    closing_recorded boolean not null,   -- the file has a closing column; false: opened_at stands in for closed_at
    outcome_recorded boolean not null,   -- the file has an outcome column
    complaint varchar,
    root_cause varchar,
    first_diagnosis varchar,
    outcome varchar,
    technician_id varchar,
    depot varchar,
    job_kind varchar,
    payer varchar,
    household_id varchar,
    callback_flag varchar,               -- the office's own mark, as written
    filter_last_changed varchar,         -- from here to already_tried: intake answers, as written
    filter_kind varchar,
    unit_age varchar,
    problem_duration varchar,
    mould_state varchar,
    dispenser_flow varchar,
    fill_tube_ice varchar,
    switch_on varchar,
    freezer_temperature varchar,
    supply_type varchar,
    shutoff_valve varchar,
    what_changed varchar,
    where_it_stands varchar,
    already_tried varchar,
    notes varchar,
    source varchar not null,             -- the sender; each source has its own end of observation
    file_id integer not null,
    line bigint not null,
    row_hash ubigint not null,
    withdrawn_by integer
);

create table records.visits (            -- key: visit_id
    visit_id varchar using compression uncompressed not null,
    call_id varchar using compression uncompressed not null,
    technician_id varchar,
    helper_id varchar,
    arrived_at timestamp not null,
    arrived_has_time boolean not null,
    left_at timestamp,
    result varchar,
    source varchar not null,
    file_id integer not null,
    line bigint not null,
    row_hash ubigint not null,
    withdrawn_by integer
);

create table records.checks (            -- key: visit_id, call_id, sequence, check, occurrence
    visit_id varchar using compression uncompressed, -- at least one of visit_id and call_id
    call_id varchar using compression uncompressed,
    sequence integer,
    "check" varchar not null,
    occurrence integer not null,         -- 1 for the first such row of a file, 2 for the next: a check made twice is two rows
    reading double,                      -- as recorded, in reading_unit
    reading_text varchar,                -- as written ("OL", "12 psi")
    reading_unit varchar,                -- as written
    state varchar,
    finding varchar,
    minutes double,
    source varchar not null,
    file_id integer not null,
    line bigint not null,
    row_hash ubigint not null,
    withdrawn_by integer
);

create table records.parts (             -- key: visit_id, call_id, part, occurrence
    visit_id varchar using compression uncompressed,
    call_id varchar using compression uncompressed,
    part varchar not null,
    occurrence integer not null,
    quantity double not null,
    cost double,
    source varchar not null,
    file_id integer not null,
    line bigint not null,
    row_hash ubigint not null,
    withdrawn_by integer
);

create table records.units (             -- key: unit_id
    unit_id varchar using compression uncompressed not null,
    installed_on date,
    product_family varchar,
    ice_maker_kind varchar,
    filter_kind varchar,
    water_supply varchar,
    shutoff_valve varchar,
    location varchar,
    household_id varchar,
    depot varchar,
    retired_on date,
    source varchar not null,
    file_id integer not null,
    line bigint not null,
    row_hash ubigint not null,
    withdrawn_by integer
);

create table records.filter_changes (    -- key: unit_id, changed_on
    unit_id varchar using compression uncompressed not null,
    changed_on date not null,
    source varchar not null,
    file_id integer not null,
    line bigint not null,
    row_hash ubigint not null,
    withdrawn_by integer
);

create table records.technicians (       -- key: technician_id
    technician_id varchar not null,
    depot varchar,
    started_on date,
    source varchar not null,
    file_id integer not null,
    line bigint not null,
    row_hash ubigint not null,
    withdrawn_by integer
);

create table records.follow_ups (        -- key: call_id, asked_on
    call_id varchar using compression uncompressed not null,
    asked_on date not null,
    answer varchar not null,
    asked_by varchar,                    -- the contract's column `source`: how it was asked
    source varchar not null,
    file_id integer not null,
    line bigint not null,
    row_hash ubigint not null,
    withdrawn_by integer
);
