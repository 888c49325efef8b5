-- marts.choices: one row per value that the filters can be set to, with the number of calls that have it.
delete from marts.choices;

insert into marts.choices
with by_symptoms as (
    select symptom_set, count(*) as calls from marts.calls group by symptom_set
),

by_parts as (
    select part_set, count(*) as calls from marts.calls group by part_set
),

symptoms as (
    select unnest(symptom_sets.symptoms) as value, by_symptoms.calls
    from by_symptoms
    inner join marts.symptom_sets on symptom_sets.symptom_set = by_symptoms.symptom_set
),

families as (
    select unnest(symptom_sets.families) as value, by_symptoms.calls
    from by_symptoms
    inner join marts.symptom_sets on symptom_sets.symptom_set = by_symptoms.symptom_set
),

parts as (
    select unnest(part_sets.parts) as value, by_parts.calls
    from by_parts
    inner join marts.part_sets on part_sets.part_set = by_parts.part_set
),

counted as (
    select 'depots' as field, depot as value, count(*) as calls from marts.calls group by depot
    union all
    select 'technicians', technician, count(*) from marts.calls group by technician
    union all
    select 'causes', cause, count(*) from marts.calls group by cause
    union all
    select 'product_families', product_family, count(*) from marts.calls group by product_family
    union all
    select 'symptoms', value, sum(calls) from symptoms group by value
    union all
    select 'families', value, sum(calls) from families group by value
    union all
    select 'parts', value, sum(calls) from parts group by value
)

select field, value, calls
from counted
where value is not null;
