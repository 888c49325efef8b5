-- catalogue.*: the active catalogue as tables, from frames registered as new_<table> (analytics/catalogue.py).
-- Grain: as in sql/schema/catalogue.sql; every table is emptied and filled anew.
truncate catalogue.about;
insert into catalogue.about by name from new_about;

truncate catalogue.families;
insert into catalogue.families by name from new_families;

truncate catalogue.symptoms;
insert into catalogue.symptoms by name from new_symptoms;

truncate catalogue.causes;
insert into catalogue.causes by name from new_causes;

truncate catalogue.goes_deeper;
insert into catalogue.goes_deeper by name from new_goes_deeper;

truncate catalogue.checks;
insert into catalogue.checks by name from new_checks;

truncate catalogue.reveals;
insert into catalogue.reveals by name from new_reveals;

truncate catalogue.parts;
insert into catalogue.parts by name from new_parts;

truncate catalogue.part_answers;
insert into catalogue.part_answers by name from new_part_answers;

truncate catalogue.outcomes;
insert into catalogue.outcomes by name from new_outcomes;

truncate catalogue.job_kinds;
insert into catalogue.job_kinds by name from new_job_kinds;

truncate catalogue.visit_results;
insert into catalogue.visit_results by name from new_visit_results;

truncate catalogue.levels;
insert into catalogue.levels by name from new_levels;

truncate catalogue.units_of_measure;
insert into catalogue.units_of_measure by name from new_units_of_measure;
