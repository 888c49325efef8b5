-- marts: what the records mean, coded and linked; built from records and texts by analytics/marts.py.
-- Every table but observation_ends holds whole units: a build deletes the rows of the units touched and makes
-- them anew. Nothing here depends on the end of observation, the window, or the date looked at.
-- Ids that hardly repeat are kept uncompressed: looking for a way to compress them costs more than it saves.
-- Bits: `*_bits` of 10 bits: bit k (k = 0..4) is the window of 7, 14, 30, 60, 90 days by same family, bit k + 5
-- the same window by any symptom; `*_bits` of 5 bits: bit k alone.
create schema marts;

create table marts.symptom_sets (          -- one row per combination of symptoms met so far; set 0 is "not recognised"
    symptom_set integer not null,
    symptoms varchar[] not null,           -- codes, sorted
    families varchar[] not null,           -- their families, sorted
    family_bits integer not null           -- union of the bits of the families; 0 matches no family
);

create table marts.part_sets (             -- one row per combination of parts fitted on one call; set 0 is "none"
    part_set integer not null,
    parts varchar[] not null               -- codes, sorted
);

create table marts.calls (                 -- one row per live call of any kind
    call_id varchar using compression uncompressed not null,
    unit_id varchar using compression uncompressed not null,
    unit_hash ubigint not null,            -- of unit_id: to take the calls of a unit together
    unit_sample utinyint not null,         -- 0..63, from unit_hash: to sample units
    closed_month varchar,                  -- first day of the month of closing, ISO
    place integer not null,                -- source and depot, see observation_ends
    depot varchar,
    technician varchar,                    -- whose repair
    diagnosis_technician varchar,          -- whose diagnosis
    opened_at timestamp not null,
    opened_has_time boolean not null,
    closed_at timestamp,                   -- null while open; opened_at where the file has no closing column
    closed_has_time boolean,
    job_kind varchar not null,             -- repair where blank or not recognised
    standing varchar not null,             -- completed, open, not_a_repair, or why no work was done: the outcome's code
    is_completed boolean not null,         -- a repair, closed, on which work was done
    is_install_done boolean not null,      -- an install, closed, on which work was done
    outcome varchar,                       -- code; null where blank or not recognised
    symptom_set integer not null,
    family_bits integer not null,
    customer_says_same boolean not null,   -- "same thing again": its symptoms are those of the call before
    return_trip_of varchar,                -- a return trip: the part-on-order call that it was opened to finish
    cause varchar,                         -- recognised root cause of this call
    first_diagnosis varchar,
    first_diagnosis_wrong boolean not null, -- both recognised, another cause, and not one that goes deeper
    product_family varchar,
    installed_on date,                     -- of the unit, as recorded, else as told; null where later than the call
    supply varchar,                        -- the water supply as told, else of the unit
    payer varchar,
    follows_another boolean not null,      -- opened within 30 days of a repair of the unit by another technician
    visits integer not null, -- visits, those that overlap taken as one
    no_access_visits integer not null, -- of them, where nobody let us in
    waited_for_part boolean not null,      -- a visit ended with a part on order
    part_set integer not null,
    came_back_bits usmallint not null,     -- a return is counted against this call
    is_callback_bits usmallint not null,   -- this call is counted against another as a return
    days_until_return float,               -- from closing to the first return counted against it, same family, to 365
    days_until_return_any float,           -- the same, any symptom
    days_until_taken_over float,           -- to the closing of a later completed call, against which returns then count
    days_until_taken_over_any float,       -- the same, any symptom
    days_until_retired integer,            -- from a completed call to the unit's retirement
    same_day_calls integer not null, -- repair calls of its family opened on its day of closing, a time missing
    same_day_calls_any integer not null, -- the same, any symptom
    install_return_bits utinyint not null, -- for an install: a repair call followed
    leak_bits utinyint not null,           -- a water part was fitted, and a leak was reported afterwards
    filter_age_days integer,               -- at the day of the call
    filter_age_band varchar not null,
    filter_age_began_days integer,         -- on the day the trouble began
    filter_age_began_band varchar not null,
    filter_told_later_days integer,        -- change as told minus change as recorded; positive: told later
    closing_lag_days float,                -- from the end of the last visit to closing
    returns_before_closing integer not null, -- repair calls of its family opened in between
    visits_after_closing integer not null,
    office_flag boolean,                   -- the office's own callback mark, null where blank or not recognised
    recorded_bits utinyint not null,       -- 1 cause, 2 outcome, 4 visit, 8 check, 16 reading, 32 filter date,
                                           -- 64 the file has a closing column, 128 it has an outcome column
    retired_bits utinyint not null,        -- the unit was retired inside the window
    is_odd boolean not null,               -- it is a callback, or marked as one, or something else here may warn of it
    follow_up varchar,                     -- asked after closing: works, partly, no, not_reached; null: not asked
    follow_up_on date,
    episode_id varchar,                    -- null where no other call is joined to it
    last_seen_at timestamp not null        -- latest timestamp of the call and its visits
);

create table marts.returns (               -- one row per return, call it is counted against, and match
    unit_id varchar not null,
    charged_call_id varchar using compression uncompressed not null,
    return_call_id varchar using compression uncompressed not null,
    match varchar not null,                -- family, any
    gap_days double not null,              -- from closing to opening; whole days where a time is missing
    compared_as_dates boolean not null,
    window_bits utinyint not null,         -- windows in which it is counted against this call
    return_opened_at timestamp not null,
    return_technician varchar,             -- whose repair the return is
    return_cause varchar
);

create table marts.episodes (              -- one row per string of calls joined by callbacks, 30 days, same family
    episode_id varchar using compression uncompressed not null, -- call_id of the first call
    place integer not null,                -- of the last completed call
    calls integer not null,
    opened_at timestamp not null,          -- of the first call
    last_call_id varchar using compression uncompressed not null, -- the last completed call
    last_closed_at timestamp not null,
    held boolean not null,                 -- nothing came back after the last completed call
    final_cause varchar,                   -- null: unknown
    flow_linked boolean not null,          -- the final cause is linked to flow through the filter
    confirmed boolean,                     -- false: probable; null without a final cause
    course varchar                         -- same, went deeper, different; null without an earlier known cause
);

create table marts.visits (                -- one row per visit, records of one call that overlap in time taken as one
    call_id varchar using compression uncompressed not null,
    visit_number integer not null,         -- 1 for the first of the call
    visit_id varchar using compression uncompressed not null, -- of its first record
    records integer not null,              -- how many were taken together
    technician varchar,                    -- first to arrive
    helpers varchar,                       -- everybody else, separated by commas
    arrived_at timestamp not null,
    arrived_has_time boolean not null,
    left_at timestamp,
    result varchar,                        -- code of the first record; null where blank or not recognised
    work_done boolean not null,
    let_in boolean not null,
    waits_for_part boolean not null
);

create table marts.choices (               -- one row per value that the filters can be set to; made anew at each build
    field varchar not null,                -- depots, families, symptoms, causes, technicians, product_families, parts
    value varchar not null,
    calls bigint not null                  -- calls that have it; with several symptoms or parts, under each
);

create table marts.unrecognised (          -- one row per text not recognised; made anew at each build
    field varchar not null,                -- coding field, as in texts.codings
    text varchar not null,                 -- as written
    "rows" bigint not null                 -- live rows of the records that hold it
);
