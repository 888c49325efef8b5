-- Take what is forgotten out of texts and of the rows set aside, whose fields go where one of them names it. Texts are
-- changed in the same way wherever they stand, so that what they were taken to mean still belongs to them.
-- Binds $ids (numbers of what is forgotten), $mention (a pattern for them). No rows.
create or replace temp macro without(written, mention) as regexp_replace(written, mention, '(forgotten)', 'g');

update records.calls set
    complaint = without(complaint, $mention),
    root_cause = without(root_cause, $mention),
    first_diagnosis = without(first_diagnosis, $mention),
    outcome = without(outcome, $mention),
    depot = without(depot, $mention),
    job_kind = without(job_kind, $mention),
    payer = without(payer, $mention),
    callback_flag = without(callback_flag, $mention),
    filter_last_changed = without(filter_last_changed, $mention),
    filter_kind = without(filter_kind, $mention),
    unit_age = without(unit_age, $mention),
    problem_duration = without(problem_duration, $mention),
    mould_state = without(mould_state, $mention),
    dispenser_flow = without(dispenser_flow, $mention),
    fill_tube_ice = without(fill_tube_ice, $mention),
    switch_on = without(switch_on, $mention),
    freezer_temperature = without(freezer_temperature, $mention),
    supply_type = without(supply_type, $mention),
    shutoff_valve = without(shutoff_valve, $mention),
    what_changed = without(what_changed, $mention),
    where_it_stands = without(where_it_stands, $mention),
    already_tried = without(already_tried, $mention),
    notes = without(notes, $mention)
where regexp_matches(
    concat_ws(
        ' ',
        complaint, root_cause, first_diagnosis, outcome, depot, job_kind, payer, callback_flag,
        filter_last_changed, filter_kind, unit_age, problem_duration, mould_state, dispenser_flow,
        fill_tube_ice, switch_on, freezer_temperature, supply_type, shutoff_valve, what_changed,
        where_it_stands, already_tried, notes
    ),
    $mention
);

update records.visits set result = without(result, $mention)
where regexp_matches(result, $mention);

update records.checks set
    "check" = without("check", $mention),
    reading_text = without(reading_text, $mention),
    reading_unit = without(reading_unit, $mention),
    state = without(state, $mention),
    finding = without(finding, $mention)
where regexp_matches(
    concat_ws(
        ' ',
        "check", reading_text, reading_unit, state, finding
    ),
    $mention
);

update records.parts set part = without(part, $mention)
where regexp_matches(part, $mention);

update records.units set
    product_family = without(product_family, $mention),
    ice_maker_kind = without(ice_maker_kind, $mention),
    filter_kind = without(filter_kind, $mention),
    water_supply = without(water_supply, $mention),
    shutoff_valve = without(shutoff_valve, $mention),
    location = without(location, $mention),
    depot = without(depot, $mention)
where regexp_matches(
    concat_ws(
        ' ',
        product_family, ice_maker_kind, filter_kind, water_supply, shutoff_valve, location, depot
    ),
    $mention
);

update records.technicians set depot = without(depot, $mention)
where regexp_matches(depot, $mention);

update records.follow_ups set
    answer = without(answer, $mention),
    asked_by = without(asked_by, $mention)
where regexp_matches(
    concat_ws(
        ' ',
        answer, asked_by
    ),
    $mention
);

update replaced.calls set
    complaint = without(complaint, $mention),
    root_cause = without(root_cause, $mention),
    first_diagnosis = without(first_diagnosis, $mention),
    outcome = without(outcome, $mention),
    depot = without(depot, $mention),
    job_kind = without(job_kind, $mention),
    payer = without(payer, $mention),
    callback_flag = without(callback_flag, $mention),
    filter_last_changed = without(filter_last_changed, $mention),
    filter_kind = without(filter_kind, $mention),
    unit_age = without(unit_age, $mention),
    problem_duration = without(problem_duration, $mention),
    mould_state = without(mould_state, $mention),
    dispenser_flow = without(dispenser_flow, $mention),
    fill_tube_ice = without(fill_tube_ice, $mention),
    switch_on = without(switch_on, $mention),
    freezer_temperature = without(freezer_temperature, $mention),
    supply_type = without(supply_type, $mention),
    shutoff_valve = without(shutoff_valve, $mention),
    what_changed = without(what_changed, $mention),
    where_it_stands = without(where_it_stands, $mention),
    already_tried = without(already_tried, $mention),
    notes = without(notes, $mention)
where regexp_matches(
    concat_ws(
        ' ',
        complaint, root_cause, first_diagnosis, outcome, depot, job_kind, payer, callback_flag,
        filter_last_changed, filter_kind, unit_age, problem_duration, mould_state, dispenser_flow,
        fill_tube_ice, switch_on, freezer_temperature, supply_type, shutoff_valve, what_changed,
        where_it_stands, already_tried, notes
    ),
    $mention
);

update replaced.visits set result = without(result, $mention)
where regexp_matches(result, $mention);

update replaced.checks set
    "check" = without("check", $mention),
    reading_text = without(reading_text, $mention),
    reading_unit = without(reading_unit, $mention),
    state = without(state, $mention),
    finding = without(finding, $mention)
where regexp_matches(
    concat_ws(
        ' ',
        "check", reading_text, reading_unit, state, finding
    ),
    $mention
);

update replaced.parts set part = without(part, $mention)
where regexp_matches(part, $mention);

update replaced.units set
    product_family = without(product_family, $mention),
    ice_maker_kind = without(ice_maker_kind, $mention),
    filter_kind = without(filter_kind, $mention),
    water_supply = without(water_supply, $mention),
    shutoff_valve = without(shutoff_valve, $mention),
    location = without(location, $mention),
    depot = without(depot, $mention)
where regexp_matches(
    concat_ws(
        ' ',
        product_family, ice_maker_kind, filter_kind, water_supply, shutoff_valve, location, depot
    ),
    $mention
);

update replaced.technicians set depot = without(depot, $mention)
where regexp_matches(depot, $mention);

update replaced.follow_ups set
    answer = without(answer, $mention),
    asked_by = without(asked_by, $mention)
where regexp_matches(
    concat_ws(
        ' ',
        answer, asked_by
    ),
    $mention
);

update texts.codings set text = without(text, $mention)
where regexp_matches(text, $mention);
-- two texts may have become one
delete from texts.codings
where rowid not in (select min(rowid) from texts.codings group by field, text);
update loads.set_aside set fields = [], found = null
where list_has_any(fields, $ids) or list_contains($ids, found)
    or regexp_matches(array_to_string(fields, ' '), $mention);
