-- What is known of the calls in which texts of one field stand: what they turned out to be, and what they rang about.
-- Grain: one row per text and fact of the texts not recognised, and of $trials of those recognised as one code, drawn by a
-- hash; one row per code and fact of the others. Columns: text (null: of all others), code (null: not recognised), kind (cause,
-- symptom), fact (its code), calls, known_calls (calls of the text, or code, of which anything of the kind is known).
-- Binds $field, $trials.
-- Rules: the cause is the final cause of the string of calls, and for the texts of causes only where it was read from
-- another text; of complaints only the causes count, since their symptoms are what is asked.
with recognised as (
    select text, codes[1] as code, row_number() over (order by hash(text)) <= $trials as on_trial
    from texts.codings
    where field = $field and len(codes) = 1 and not same_again
),

-- kept: the text, where it is counted by itself
meant as (
    select text, null as code, text as kept
    from texts.codings
    where field = $field and how = 'not recognised'
    union all
    select text, code, if(on_trial, text, null) as kept
    from recognised
),

-- one row per call and text in it; told_apart: the text is not the one that the final cause would be read from
written as (
    select
        call_id,
        -- a field of another table is no column here: any other, the rows being left out below
        struct_extract(calls, if($field in ('visit_result', 'check', 'check_state', 'finding', 'part',
            'follow_up_answer', 'ice_maker_kind', 'product_family'), 'call_id', $field)) as text,
        $field <> 'root_cause' as told_apart
    from records.calls
    where withdrawn_by is null and $field not in ('visit_result', 'check', 'check_state', 'finding', 'part',
        'follow_up_answer', 'ice_maker_kind', 'product_family')
    union all
    select call_id, first_diagnosis, true
    from records.calls
    where $field = 'root_cause' and withdrawn_by is null
    union all
    select call_id, result, true
    from records.visits
    where $field = 'visit_result' and withdrawn_by is null
    union all
    select coalesce(checks.call_id, visits.call_id), unnest(case $field when 'check' then [checks."check"]
        when 'check_state' then [checks.state] when 'finding' then [checks.finding] else [] end), true
    from records.checks
    left join records.visits on visits.visit_id = checks.visit_id and visits.withdrawn_by is null
    where $field in ('check', 'check_state', 'finding') and checks.withdrawn_by is null
    union all
    select coalesce(parts.call_id, visits.call_id), parts.part, true
    from records.parts
    left join records.visits on visits.visit_id = parts.visit_id and visits.withdrawn_by is null
    where $field = 'part' and parts.withdrawn_by is null
),

-- one row per call and meaning, or text without one, in it
known as (
    select
        meant.code,
        meant.kept,
        calls.call_id,
        max(episodes.final_cause)
            filter (written.told_apart or episodes.last_call_id <> calls.call_id) as final_cause,
        if($field = 'complaint', [], any_value(symptom_sets.symptoms)) as symptoms
    from written
    inner join meant using (text)
    inner join marts.calls on calls.call_id = written.call_id
    inner join marts.symptom_sets using (symptom_set)
    left join marts.episodes on episodes.episode_id = coalesce(calls.episode_id, calls.call_id)
    where calls.standing <> 'not_a_repair' and calls.return_trip_of is null
    group by meant.code, meant.kept, calls.call_id
),

facts as (
    select code, kept, 'cause' as kind, final_cause as fact, count(*) as calls
    from known
    where final_cause is not null
    group by code, kept, final_cause
    union all
    select code, kept, 'symptom' as kind, unnest(symptoms) as fact, count(*) as calls
    from known
    group by code, kept, fact
),

known_of as (
    select code, kept, count(final_cause) as of_cause, count(*) filter (len(symptoms) > 0) as of_symptom
    from known
    group by code, kept
)

select
    facts.kept as text,
    facts.code,
    facts.kind,
    facts.fact,
    facts.calls,
    if(facts.kind = 'cause', known_of.of_cause, known_of.of_symptom) as known_calls
from facts
inner join known_of
    on known_of.code is not distinct from facts.code and known_of.kept is not distinct from facts.kept
order by facts.kind, facts.fact, facts.code, facts.kept;
