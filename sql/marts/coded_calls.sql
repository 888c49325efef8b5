-- coded_calls: one row per call in scope, its words as codes. Temporary; later steps link it and marts.calls keeps it.
-- call_row numbers the calls of this build; after_at is the instant after which a call counts as later:
-- closing, or the end of the day of closing where its time of day is not known.
-- told_changed_on: when the filter was changed as told; trouble_began_on: the day of opening less the time it has lasted.
create or replace temp table coded_calls as
with one_code as (
    select field, text, codes[1] as code
    from texts.codings
    where len(codes) > 0
),

causes as (select text, code from one_code where field = 'root_cause'),

outcomes as (
    select one_code.text, one_code.code, outcomes.work_done
    from one_code
    inner join catalogue.outcomes on outcomes.code = one_code.code
    where one_code.field = 'outcome'
),

job_kinds as (
    select one_code.text, one_code.code, job_kinds.is_repair
    from one_code
    inner join catalogue.job_kinds on job_kinds.code = one_code.code
    where one_code.field = 'job_kind'
),

payers as (select text, code from one_code where field = 'payer'),

flags as (select text, code from one_code where field = 'callback_flag'),

filter_kinds as (select text, code from one_code where field = 'filter_kind' and code <> 'dont_know'),

supplies as (
    select text, codes[1] as code, list_contains(codes, 'reverse_osmosis') as is_reverse_osmosis
    from texts.codings
    where field = 'supply_type' and len(codes) > 0
),

told as (from answer_texts where field = 'filter_last_changed'),

durations as (from answer_texts where field = 'problem_duration'),

unit_ages as (from answer_texts where field = 'unit_age'),

coded as (
    select
        calls.*,
        places.place,
        coalesce(complaints.symptom_set, 0) as symptom_set,
        coalesce(complaints.family_bits, 0) as family_bits,
        coalesce(complaints.same_again, false) as same_again,
        coalesce(complaints.says_return_trip, false) as says_return_trip,
        cause.code as cause_code,
        diagnosis.code as diagnosis_code,
        outcomes.code as outcome_code,
        coalesce(outcomes.work_done, true) as work_done,
        coalesce(job_kinds.code, 'repair') as job_kind_code,
        coalesce(job_kinds.is_repair, true) as is_repair,
        payers.code as payer_code,
        case flags.code when 'yes' then true when 'no' then false end as office_flag,
        if(calls.closing_recorded, calls.closed_at, calls.opened_at) as effective_closed_at,
        if(calls.closing_recorded, calls.closed_has_time, calls.opened_has_time) as effective_has_time,

        -- of the unit, and of the answers on its filter
        units.product_family,
        units.retired_on,
        calls.opened_at::date as opened_on,
        coalesce(units.installed_on, calls.opened_at::date - unit_ages.days_ago, unit_ages.day) as installed_on,
        coalesce(filter_kinds.code, units.filter_kind) as filter_kind_code,
        coalesce(supplies.code, units.supply) as supply,
        coalesce(supplies.is_reverse_osmosis, units.is_reverse_osmosis, false) as is_reverse_osmosis,
        coalesce(told.is_never, false) as told_never,
        coalesce(told.day, calls.opened_at::date - told.days_ago) as told_day,
        make_date(year(calls.opened_at), told.feast_month, told.feast_day) as told_feast,
        coalesce(durations.day, calls.opened_at::date - durations.days_ago) as began_on,
        coalesce(durations.since_new, false) as since_new
    from scope_calls as calls
    inner join places on places.source = calls.source and places.depot = coalesce(calls.depot, '')
    left join complaint_texts as complaints on complaints.text = calls.complaint
    left join causes as cause on cause.text = calls.root_cause
    left join causes as diagnosis on diagnosis.text = calls.first_diagnosis
    left join outcomes on outcomes.text = calls.outcome
    left join job_kinds on job_kinds.text = calls.job_kind
    left join payers on payers.text = calls.payer
    left join flags on flags.text = calls.callback_flag
    left join coded_units as units on units.unit_id = calls.unit_id
    left join filter_kinds on filter_kinds.text = calls.filter_kind
    left join supplies on supplies.text = calls.supply_type
    left join told on told.text = calls.filter_last_changed
    left join durations on durations.text = calls.problem_duration
    left join unit_ages on unit_ages.text = calls.unit_age
)

select
    (row_number() over ())::integer as call_row,
    call_id,
    unit_id,
    hash(unit_id) as unit_hash,
    place,
    technician_id,
    opened_at,
    opened_has_time,
    effective_closed_at as closed_at,
    effective_has_time as closed_has_time,
    if(effective_has_time, effective_closed_at, effective_closed_at + interval 1 day - interval 1 microsecond)
        as after_at,
    closing_recorded,
    job_kind_code as job_kind,
    is_repair,
    work_done,
    outcome_code as outcome,
    case
        when not is_repair then 'not_a_repair'
        when effective_closed_at is null then 'open'
        when work_done then 'completed'
        else outcome_code
    end as standing,
    is_repair and effective_closed_at is not null and work_done as is_completed,
    symptom_set,
    family_bits,
    same_again and symptom_set = 0 as takes_symptoms,
    same_again,
    says_return_trip,
    cause_code as cause,
    diagnosis_code as first_diagnosis,
    payer_code as payer,
    office_flag,
    product_family,
    installed_on,
    supply,
    retired_on,
    coalesce(filter_kind_code in ('bypass_or_none', 'reverse_osmosis'), false) or is_reverse_osmosis
        as has_no_filter,
    case
        when told_never
            then if(filter_kind_code in ('in_unit', 'in_line', 'whole_house'), installed_on, null)
        when told_feast is not null
            then if(told_feast < opened_on, told_feast, (told_feast - interval 1 year)::date)
        else told_day
    end as told_changed_on,
    if(since_new, installed_on, began_on) as trouble_began_on,
    (root_cause is not null)::utinyint
    + 2 * (outcome is not null)::utinyint
    + 32 * (filter_last_changed is not null)::utinyint
    + 64 * closing_recorded::utinyint
    + 128 * outcome_recorded::utinyint as recorded_bits
from coded;
