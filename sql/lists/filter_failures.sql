-- Failures while the age of the filter was known: one row per failure and measure. Reads filter_spells, see
-- metrics/filter_time, and filter_failures, see metrics/filter_failures.
-- Columns: measure (began, called), row_id (of marts.calls), age_days (days since the change), flow_linked, symptom_set.
select
    failures.measure,
    failures.call_row::integer as row_id,
    (failures.day - spells.known_on)::integer as age_days,
    failures.flow_linked,
    failures.symptom_set
from filter_failures as failures
inner join filter_spells as spells on spells.unit = failures.unit and failures.day between spells.from_on and spells.to_on
order by row_id;
