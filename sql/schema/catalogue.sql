-- catalogue: the active catalogue as tables, written from analytics/catalogues/*.toml at each build.
create schema catalogue;

create table catalogue.about (code varchar, label varchar, hash varchar);
create table catalogue.families (code varchar, label varchar, bit integer);                 -- bit: power of two
create table catalogue.symptoms (code varchar, label varchar, family varchar);              -- family null: matches none
create table catalogue.causes (
    code varchar, label varchar, flow_linked boolean, whose varchar[],
    consequence boolean,                 -- recorded only when nothing deeper was proved
    can_be_final boolean,                -- false: no fault found
    other_catalogue boolean              -- another catalogue owns the reason
);
create table catalogue.goes_deeper (cause varchar, than varchar);
create table catalogue.checks (code varchar, label varchar, setup varchar, minutes double, caution varchar);
create table catalogue.reveals (check_code varchar, cause varchar, share double);
create table catalogue.parts (code varchar, label varchar, is_filter boolean, water_side boolean);
create table catalogue.part_answers (part varchar, cause varchar);
create table catalogue.outcomes (code varchar, label varchar, work_done boolean);          -- work_done false: never a completed call
create table catalogue.job_kinds (code varchar, label varchar, is_repair boolean);
create table catalogue.visit_results (code varchar, label varchar, work_done boolean, let_in boolean, waits_for_part boolean);
create table catalogue.levels (field varchar, code varchar, label varchar);                -- every other coded field
create table catalogue.units_of_measure (
    spelling varchar,                    -- compared as lower(replace(replace(replace(written, ' ', ''), '.', ''), '_', ''))
    quantity varchar,                    -- pressure, temperature, resistance, volume, flow, length, time, ...
    scale double, "offset" double,       -- canonical value = value * scale + "offset"
    canonical_unit varchar
);
