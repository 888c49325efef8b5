-- Labels of one field of the catalogue, in the catalogue's order. Columns: code, label.
with every_field as (
    select 'families' as field, code, label from catalogue.families
    union all
    select 'symptoms', code, label from catalogue.symptoms
    union all
    select 'causes', code, label from catalogue.causes
    union all
    select 'checks', code, label from catalogue.checks
    union all
    select 'parts', code, label from catalogue.parts
    union all
    select 'outcomes', code, label from catalogue.outcomes
    union all
    select 'job_kinds', code, label from catalogue.job_kinds
    union all
    select 'visit_results', code, label from catalogue.visit_results
    union all
    select field, code, label from catalogue.levels
)

select code, label
from every_field
where field = $field;
