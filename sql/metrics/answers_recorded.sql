-- Calls on which the customer's answer to $field is recorded: one row a call, in no order. Column: row_id (of marts.calls).
-- Where $levels names any, only answers of those levels; never those of $but. A text that is not recognised has no level, and is
-- an answer all the same where none is named. An answer that the complaint gives away counts too.
with told as (
    select
        call_id,
        complaint,
        case $field
            when 'filter_last_changed' then filter_last_changed
            when 'filter_kind' then filter_kind
            when 'unit_age' then unit_age
            when 'problem_duration' then problem_duration
            when 'mould_state' then mould_state
            when 'dispenser_flow' then dispenser_flow
            when 'fill_tube_ice' then fill_tube_ice
            when 'switch_on' then switch_on
            when 'freezer_temperature' then freezer_temperature
            when 'supply_type' then supply_type
            when 'shutoff_valve' then shutoff_valve
            when 'what_changed' then what_changed
            when 'where_it_stands' then where_it_stands
            when 'already_tried' then already_tried
        end as answer
    from records.calls
    where withdrawn_by is null
),

coded as (
    select
        told.call_id,
        told.answer is not null or implied.implied_code is not null as answered,
        coalesce(codings.codes[1], implied.implied_code) as level
    from told
    left join texts.codings on codings.field = $field and codings.text = told.answer
    left join texts.codings as implied
        on implied.field = 'complaint' and implied.text = told.complaint and implied.implied_field = $field
)

select calls.rowid::integer as row_id
from coded
inner join marts.calls on calls.call_id = coded.call_id
where coded.answered
    and (len($levels::varchar[]) = 0 or coalesce(list_contains($levels::varchar[], coded.level), false))
    and not coalesce(list_contains($but::varchar[], coded.level), false);
