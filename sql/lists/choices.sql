-- Values that the filters can be set to, most calls first. Columns: field, value, label, calls.
with labels as (
    select 'families' as field, code, label from catalogue.families
    union all
    select 'symptoms', code, label from catalogue.symptoms
    union all
    select 'causes', code, label from catalogue.causes
    union all
    select 'parts', code, label from catalogue.parts
)

select
    choices.field,
    choices.value,
    coalesce(labels.label, choices.value) as label,
    choices.calls
from marts.choices
left join labels on labels.field = choices.field and labels.code = choices.value
order by choices.field, choices.calls desc, label;
