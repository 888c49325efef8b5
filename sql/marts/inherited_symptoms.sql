-- coded_calls.symptom_set and family_bits of calls that say "the same again": those of the unit's last earlier
-- call with a recognised symptom, by opening and then by call_id. One row a call that says so.
create or replace temp table inherited_symptoms as
with units as (
    select distinct unit_id from coded_calls where takes_symptoms
),

in_order as (
    select
        calls.call_row,
        calls.takes_symptoms,
        last_value(if(calls.symptom_set = 0, null, calls.symptom_set) ignore nulls) over before as symptom_set,
        last_value(if(calls.symptom_set = 0, null, calls.family_bits) ignore nulls) over before as family_bits
    from coded_calls as calls
    semi join units on units.unit_id = calls.unit_id
    window before as (
        partition by calls.unit_id order by calls.opened_at, calls.call_id
        rows between unbounded preceding and 1 preceding
    )
)

select call_row, symptom_set, family_bits
from in_order
where takes_symptoms and symptom_set is not null;

update coded_calls
set symptom_set = inherited_symptoms.symptom_set, family_bits = inherited_symptoms.family_bits
from inherited_symptoms
where inherited_symptoms.call_row = coded_calls.call_row;
