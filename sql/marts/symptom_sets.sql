-- marts.symptom_sets, and complaint_texts: one row per distinct complaint.
-- Columns: text, symptom_set, family_bits (0 matches no family), same_again, says_return_trip.
-- A call of another unit may hold any set, so that sets are added and never removed.
insert into marts.symptom_sets
select 0, [], [], 0
where not exists (from marts.symptom_sets);

insert into marts.symptom_sets
with met as (
    select distinct list_sort(list_distinct(codes)) as symptoms
    from texts.codings
    where field = 'complaint'
),

new as (
    select symptoms from met
    where symptoms not in (select symptoms from marts.symptom_sets)
),

families as (
    select
        new.symptoms,
        coalesce(list_sort(list(distinct families.code) filter (families.code is not null)), []) as families,
        coalesce(bit_or(families.bit), 0) as family_bits
    from new
    cross join unnest(new.symptoms) as each_one (code)
    left join catalogue.symptoms on symptoms.code = each_one.code
    left join catalogue.families on families.code = symptoms.family
    group by new.symptoms
)

select
    (select max(symptom_set) from marts.symptom_sets) + row_number() over (order by symptoms),
    symptoms,
    families,
    family_bits
from families;

create or replace temp table complaint_texts as
select
    codings.text,
    symptom_sets.symptom_set,
    symptom_sets.family_bits,
    codings.same_again,
    -- what a dispatcher writes on a call opened to fit a part that has come in; words of the trade, common practice,
    -- no source. They count only after a call of the same unit that waited for a part, so that they may be broad.
    regexp_matches(
        lower(codings.text),
        '\b(rtn|return (trip|visit|to fit))\b'
        || '|\bparts?\b.*\b(in|here|arrived|came|come|ready|received)\b'
        || '|\b(fit|install|bring|put in)\b.*\bparts?\b'
    ) as says_return_trip
from texts.codings
inner join marts.symptom_sets on symptom_sets.symptoms = list_sort(list_distinct(codings.codes))
where codings.field = 'complaint';
