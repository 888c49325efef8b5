-- texts: what each distinct text of a coded field was taken to mean. Work is done once per distinct text.
create schema texts;

create table texts.codings (             -- one row per field and distinct text
    field varchar not null,              -- complaint, root_cause, outcome, check, ... ; causes are coded once, as root_cause
    text varchar not null,               -- as written
    codes varchar[] not null,            -- catalogue codes; empty when not recognised
    how varchar not null,                -- code, phrase, rule, fuzzy, settled, not recognised
    score double,                        -- similarity 0..100 where how = fuzzy
    same_again boolean not null,         -- the caller says it is the same trouble as the last call
    number double,                       -- quantity in the answer, in number_unit
    number_unit varchar,                 -- months, days, years, celsius
    day date,                            -- a calendar day named in the answer
    implied_field varchar,               -- an intake answer that the text implies (a complaint "tube is frozen")
    implied_code varchar
);
