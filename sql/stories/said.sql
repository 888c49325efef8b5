-- What the customer told us on one call: one row per answer that is not blank, in the order they are asked.
-- Columns: answer (field), written, code, code_label.
with call as (
    select * from records.calls where call_id = $call_id and withdrawn_by is null
),

answers as (
    unpivot call
    on complaint, problem_duration, what_changed, already_tried, mould_state, dispenser_flow, fill_tube_ice, switch_on,
        freezer_temperature, filter_last_changed, filter_kind, unit_age, supply_type, shutoff_valve, where_it_stands
    into name answer value written
),

labelled as (
    select 'complaint' as field, code, label from catalogue.symptoms
    union all
    select field, code, label from catalogue.levels
)

select
    answers.answer,
    answers.written,
    codings.codes[1] as code,
    string_agg(labelled.label, ', ' order by list_position(codings.codes, labelled.code)) as code_label
from answers
left join texts.codings on codings.field = answers.answer and codings.text = answers.written
left join labelled on labelled.field = answers.answer and list_contains(codings.codes, labelled.code)
group by all;
