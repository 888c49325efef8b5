-- Write a coded copy of the generation that is open as `old` into the file that is open as `afresh`: the same tables, with a code
-- wherever a technician column or a text names somebody. A technician without a code becomes nobody. Left out is what
-- only those see who see names: the rows that were replaced, and the raw fields of rows set aside. No rows.
copy from database old to afresh (schema);

insert into afresh.store.about from old.store.about;
insert into afresh.catalogue.about from old.catalogue.about;
insert into afresh.catalogue.families from old.catalogue.families;
insert into afresh.catalogue.symptoms from old.catalogue.symptoms;
insert into afresh.catalogue.causes from old.catalogue.causes;
insert into afresh.catalogue.goes_deeper from old.catalogue.goes_deeper;
insert into afresh.catalogue.checks from old.catalogue.checks;
insert into afresh.catalogue.reveals from old.catalogue.reveals;
insert into afresh.catalogue.parts from old.catalogue.parts;
insert into afresh.catalogue.part_answers from old.catalogue.part_answers;
insert into afresh.catalogue.outcomes from old.catalogue.outcomes;
insert into afresh.catalogue.job_kinds from old.catalogue.job_kinds;
insert into afresh.catalogue.visit_results from old.catalogue.visit_results;
insert into afresh.catalogue.levels from old.catalogue.levels;
insert into afresh.catalogue.units_of_measure from old.catalogue.units_of_measure;
insert into afresh.loads.loads from old.loads.loads;
insert into afresh.loads.mended from old.loads.mended;
insert into afresh.marts.symptom_sets from old.marts.symptom_sets;
insert into afresh.marts.part_sets from old.marts.part_sets;
insert into afresh.marts.episodes from old.marts.episodes;

insert into afresh.loads.files
select * replace (
    coded_text(file_name) as file_name,
    coded_text(source) as source,
    '' as mapping
)
from old.loads.files;

insert into afresh.loads.taken_back
select * replace (
    coded_text(file_name) as file_name,
    coded_text(source) as source,
    '' as mapping
)
from old.loads.taken_back;

insert into afresh.loads.set_aside
select * replace (
    null as found,
    [] as fields
)
from old.loads.set_aside;

insert into afresh.records.calls
select * replace (
    (select code from coded_names where coded_names.technician = calls.technician_id) as technician_id,
    coded_text(complaint) as complaint,
    coded_text(root_cause) as root_cause,
    coded_text(first_diagnosis) as first_diagnosis,
    coded_text(outcome) as outcome,
    coded_text(depot) as depot,
    coded_text(job_kind) as job_kind,
    coded_text(payer) as payer,
    coded_text(callback_flag) as callback_flag,
    coded_text(filter_last_changed) as filter_last_changed,
    coded_text(filter_kind) as filter_kind,
    coded_text(unit_age) as unit_age,
    coded_text(problem_duration) as problem_duration,
    coded_text(mould_state) as mould_state,
    coded_text(dispenser_flow) as dispenser_flow,
    coded_text(fill_tube_ice) as fill_tube_ice,
    coded_text(switch_on) as switch_on,
    coded_text(freezer_temperature) as freezer_temperature,
    coded_text(supply_type) as supply_type,
    coded_text(shutoff_valve) as shutoff_valve,
    coded_text(what_changed) as what_changed,
    coded_text(where_it_stands) as where_it_stands,
    coded_text(already_tried) as already_tried,
    coded_text(notes) as notes,
    coded_text(source) as source
)
from old.records.calls;

insert into afresh.records.visits
select * replace (
    (select code from coded_names where coded_names.technician = visits.technician_id) as technician_id,
    (select code from coded_names where coded_names.technician = visits.helper_id) as helper_id,
    coded_text(result) as result,
    coded_text(source) as source
)
from old.records.visits;

insert into afresh.records.checks
select * replace (
    coded_text("check") as "check",
    coded_text(reading_text) as reading_text,
    coded_text(reading_unit) as reading_unit,
    coded_text(state) as state,
    coded_text(finding) as finding,
    coded_text(source) as source
)
from old.records.checks;

insert into afresh.records.parts
select * replace (
    coded_text(part) as part,
    coded_text(source) as source
)
from old.records.parts;

insert into afresh.records.units
select * replace (
    coded_text(product_family) as product_family,
    coded_text(ice_maker_kind) as ice_maker_kind,
    coded_text(filter_kind) as filter_kind,
    coded_text(water_supply) as water_supply,
    coded_text(shutoff_valve) as shutoff_valve,
    coded_text(location) as location,
    coded_text(depot) as depot,
    coded_text(source) as source
)
from old.records.units;

insert into afresh.records.filter_changes
select * replace (
    coded_text(source) as source
)
from old.records.filter_changes;

insert into afresh.records.technicians
select * replace (
    (select code from coded_names where coded_names.technician = technicians.technician_id) as technician_id,
    coded_text(depot) as depot,
    coded_text(source) as source
)
from old.records.technicians;

insert into afresh.records.follow_ups
select * replace (
    coded_text(answer) as answer,
    coded_text(asked_by) as asked_by,
    coded_text(source) as source
)
from old.records.follow_ups;

insert into afresh.marts.calls
select * replace (
    (select code from coded_names where coded_names.technician = calls.technician) as technician,
    (select code from coded_names where coded_names.technician = calls.diagnosis_technician) as diagnosis_technician,
    coded_text(depot) as depot,
    coded_text(product_family) as product_family
)
from old.marts.calls;

insert into afresh.marts.returns
select * replace (
    (select code from coded_names where coded_names.technician = returns.return_technician) as return_technician
)
from old.marts.returns;

insert into afresh.marts.observation_ends
select * replace (
    coded_text(source) as source,
    coded_text(depot) as depot
)
from old.marts.observation_ends;

insert into afresh.marts.unrecognised
select * replace (
    coded_text(text) as text
)
from old.marts.unrecognised;

insert into afresh.marts.choices
select
    field,
    case field
        when 'technicians' then (select code from coded_names where coded_names.technician = choices.value)
        when 'depots' then coded_text(value)
        when 'product_families' then coded_text(value)
        else value
    end as value,
    calls
from old.marts.choices;

-- helpers are written in one text, separated by commas
create or replace temp table coded_helpers as
with helpers as (
    select distinct helpers as written from old.marts.visits where helpers is not null
),

each_helper as (
    select written, unnest(string_split(written, ', ')) as technician from helpers
)

select
    each_helper.written,
    string_agg(coalesce(coded_names.code, 'somebody'), ', ' order by coded_names.code) as coded
from each_helper
left join coded_names on coded_names.technician = each_helper.technician
group by each_helper.written;

insert into afresh.marts.visits
select * replace (
    (select code from coded_names where coded_names.technician = visits.technician) as technician,
    (select coded from coded_helpers where coded_helpers.written = visits.helpers) as helpers
)
from old.marts.visits;

-- texts that differed by how a name was written may have become one
insert into afresh.texts.codings
select * replace (coded_text(text) as text)
from old.texts.codings
qualify row_number() over (partition by field, coded_text(text) order by rowid) = 1
order by rowid;

checkpoint afresh;
detach afresh;
