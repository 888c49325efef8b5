-- staged: the rows of one file of calls, typed and judged on their own.
-- Grain: one row per record of the file, in its order.
-- Columns: source_line (where the careful reader noted it; else rowid tells the line); key_hash (of call_id); row_hash (of everything typed);
-- moment (latest time in the row); reasons (why the row can not be loaded; null when it can); then records.calls.
-- Binds $skip, $path, $columns, $separator, $quote, $line_end, $longest_line, $opened_at_formats, $opened_at_zoned,
-- $closed_at_formats, $closed_at_zoned, $filter_last_changed_in, $unit_age_in, $problem_duration_in,
-- $freezer_temperature_in, $header_word, $latest, $latest_reason, $has_closing, $has_outcome.
create or replace temp table staged as
with lacking as (
    select
        null::bigint as source_line, null::varchar as call_id, null::varchar as unit_id, null::varchar as opened_at,
        null::varchar as closed_at, null::varchar as complaint, null::varchar as root_cause,
        null::varchar as first_diagnosis, null::varchar as outcome, null::varchar as technician_id,
        null::varchar as depot, null::varchar as job_kind, null::varchar as payer, null::varchar as household_id,
        null::varchar as callback_flag, null::varchar as filter_last_changed, null::varchar as filter_kind,
        null::varchar as unit_age, null::varchar as problem_duration, null::varchar as mould_state,
        null::varchar as dispenser_flow, null::varchar as fill_tube_ice, null::varchar as switch_on,
        null::varchar as freezer_temperature, null::varchar as supply_type, null::varchar as shutoff_valve,
        null::varchar as what_changed, null::varchar as where_it_stands, null::varchar as already_tried,
        null::varchar as notes
    where false
),
incoming as (
    from file_rows($path, $skip, $columns, $separator, $quote, $line_end, $longest_line)
    union all by name
    from lacking
),
typed as (
    select
        source_line,
        as_text(call_id) as call_id,
        as_text(unit_id) as unit_id,
        as_words(opened_at) as opened_written,
        as_moment(opened_at, $opened_at_formats, $opened_at_zoned) as opened_at,
        coalesce(contains(opened_at, ':'), false) as opened_has_time,
        as_words(closed_at) as closed_written,
        as_moment(closed_at, $closed_at_formats, $closed_at_zoned) as closed_at,
        contains(as_words(closed_at), ':') as closed_has_time,
        masked_words(as_words(complaint)) as complaint,
        masked_words(as_words(root_cause)) as root_cause,
        masked_words(as_words(first_diagnosis)) as first_diagnosis,
        as_words(outcome) as outcome,
        as_text(technician_id) as technician_id,
        as_text(depot) as depot,
        as_words(job_kind) as job_kind,
        as_words(payer) as payer,
        as_text(household_id) as household_id,
        as_words(callback_flag) as callback_flag,
        with_unit(filter_last_changed, $filter_last_changed_in) as filter_last_changed,
        as_words(filter_kind) as filter_kind,
        with_unit(unit_age, $unit_age_in) as unit_age,
        with_unit(problem_duration, $problem_duration_in) as problem_duration,
        as_words(mould_state) as mould_state,
        as_words(dispenser_flow) as dispenser_flow,
        as_words(fill_tube_ice) as fill_tube_ice,
        as_words(switch_on) as switch_on,
        with_unit(freezer_temperature, $freezer_temperature_in) as freezer_temperature,
        as_words(supply_type) as supply_type,
        as_words(shutoff_valve) as shutoff_valve,
        masked_words(as_words(what_changed)) as what_changed,
        as_words(where_it_stands) as where_it_stands,
        masked_words(as_words(already_tried)) as already_tried,
        masked(as_text(notes)) as notes
    from incoming
),
judged as (
    select
        *,
        call_id is not null and call_id <> $header_word and unit_id is not null and opened_at is not null
            and moment_holds(opened_written, opened_at, $latest)
            and moment_holds(closed_written, closed_at, $latest)
            and not coalesce(ends_before(opened_at, opened_has_time, closed_at, closed_has_time), false) as holds
    from typed
)
select
    source_line,
    hash(call_id) as key_hash,
    hash(
        call_id, unit_id, opened_at, opened_has_time, closed_at, closed_has_time, complaint, root_cause,
        first_diagnosis, outcome, technician_id, depot, job_kind, payer, household_id, callback_flag,
        filter_last_changed, filter_kind, unit_age, problem_duration, mould_state, dispenser_flow, fill_tube_ice,
        switch_on, freezer_temperature, supply_type, shutoff_valve, what_changed, where_it_stands, already_tried, notes
    ) as row_hash,
    greatest(opened_at, closed_at) as moment,
    case
        when not holds then reasons_of([
            header_reason('call_id', call_id, $header_word),
            filled_reason('call_id', call_id),
            filled_reason('unit_id', unit_id),
            filled_reason('opened_at', opened_written),
            moment_reason('opened_at', opened_written, opened_at, $latest, $latest_reason),
            moment_reason('closed_at', closed_written, closed_at, $latest, $latest_reason),
            case when ends_before(opened_at, opened_has_time, closed_at, closed_has_time)
                then reason('closed_before_opened', 'closed_at', closed_written) end
        ])
    end as reasons,
    call_id, unit_id, opened_at, opened_has_time, closed_at, closed_has_time,
    $has_closing as closing_recorded, $has_outcome as outcome_recorded,
    complaint, root_cause, first_diagnosis, outcome, technician_id, depot, job_kind, payer, household_id,
    callback_flag, filter_last_changed, filter_kind, unit_age, problem_duration, mould_state, dispenser_flow,
    fill_tube_ice, switch_on, freezer_temperature, supply_type, shutoff_valve, what_changed, where_it_stands,
    already_tried, notes
from judged;
