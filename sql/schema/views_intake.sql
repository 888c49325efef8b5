-- intake: what is known of a repair when the telephone rings, and what it turned out to be. Views over records, texts and
-- marts, read when a model is fitted or asked. Nothing that is learned later goes into marts.intake: no visit, check,
-- part, cause, outcome or closing of the call, and no later call. The history of the unit before the call does not either.

create view texts.amounts as               -- one row per text of an answer about time: what it comes to
-- day: a calendar day named. days_ago: a length of time told, rounded up so that "12 months" are 12 months.
-- feast_month, feast_day: a season or feast, the latest such day before the call.
-- Days stand for words without a number: a few days 3, weeks 14, months 61 (our convention, no source).
-- A season is taken by its middle, northern half of the world (our convention, no source).
with seasons (word, feast_month, feast_day) as (
    values
    ('spring', 4, 15), ('summer', 7, 15), ('autumn|fall', 10, 15), ('winter', 1, 15),
    ('christmas|holidays', 12, 25), ('thanksgiving', 11, 25), ('easter', 4, 10), ('new year', 1, 1)
),

coded as (
    select *, codes[1] as code
    from texts.codings
    where field in ('filter_last_changed', 'problem_duration', 'unit_age')
),

lengths as (
    select
        field,
        text,
        code,
        day,
        ceil(
            case
                when number is not null then number * case number_unit
                    when 'days' then 1 when 'weeks' then 7 when 'months' then 30.4375 when 'years' then 365.25
                end
                when field = 'problem_duration' then case code
                    when 'today' then 0 when 'days' then 3 when 'weeks' then 14 when 'months' then 61
                end
                when field = 'unit_age' and code = 'new' then 0
            end
        ) as days_ago
    from coded
)

select
    lengths.field,
    lengths.text,
    any_value(lengths.code) as code,
    any_value(lengths.day) as day,
    any_value(lengths.days_ago)::integer as days_ago,
    any_value(seasons.feast_month) as feast_month,
    any_value(seasons.feast_day) as feast_day,
    coalesce(any_value(lengths.field = 'filter_last_changed' and lengths.code = 'never'), false) as is_never,
    coalesce(any_value(lengths.field = 'problem_duration' and lengths.code = 'since_new'), false) as since_new
from lengths
left join seasons
    on lengths.field = 'filter_last_changed'
    and lengths.code = 'season'
    and regexp_matches(lower(lengths.text), '\b(' || seasons.word || ')\b')
group by lengths.field, lengths.text;

create view marts.intake as                -- one row per repair call: what was known when it was rung in
with level as (
    select field, text, codes[1] as code, number from texts.codings where len(codes) > 0
),

implied as (                               -- an answer that the complaint gives away ("tube is frozen")
    select text, implied_field as field, implied_code as code
    from texts.codings
    where field = 'complaint' and implied_field is not null
)

select
    calls.call_id,
    calls.unit_id,
    calls.unit_hash,
    calls.opened_at,
    symptom_sets.symptoms,                 -- codes; of "the same again" those of the unit's last call
    symptom_sets.families,
    calls.filter_age_days,                 -- on the day of the call, null where unknown or there is no filter
    calls.filter_age_began_days,           -- on the day the trouble began
    calls.opened_at::date - calls.installed_on as unit_age_days,
    durations.days_ago as problem_duration_days,
    freezer_temperature.number as freezer_celsius,
    case calls.filter_age_band when 'not_applicable' then 'no_filter' else told.code end as filter_last_changed,
    coalesce(nullif(filter_kind.code, 'dont_know'), unit_filter_kind.code, filter_kind.code) as filter_kind,
    durations.code as problem_duration,
    coalesce(mould_state.code, if(implied.field = 'mould_state', implied.code, null)) as mould_state,
    coalesce(dispenser_flow.code, if(implied.field = 'dispenser_flow', implied.code, null)) as dispenser_flow,
    coalesce(fill_tube_ice.code, if(implied.field = 'fill_tube_ice', implied.code, null)) as fill_tube_ice,
    coalesce(switch_on.code, if(implied.field = 'switch_on', implied.code, null)) as switch_on,
    freezer_temperature.code as freezer_temperature,
    coalesce(nullif(calls.supply, 'dont_know'), unit_supply.code, calls.supply) as supply_type, -- as told, else of the unit
    coalesce(nullif(shutoff_valve.code, 'dont_know'), unit_shutoff.code, shutoff_valve.code) as shutoff_valve,
    coalesce(what_changed.code, if(implied.field = 'what_changed', implied.code, null)) as what_changed,
    coalesce(nullif(where_it_stands.code, 'dont_know'), unit_location.code, where_it_stands.code) as where_it_stands,
    already_tried.code as already_tried,
    ice_maker_kind.code as ice_maker_kind,
    calls.product_family,
    case
        when month(calls.opened_at) in (12, 1, 2) then 'winter'
        when month(calls.opened_at) in (3, 4, 5) then 'spring'
        when month(calls.opened_at) in (6, 7, 8) then 'summer'
        else 'autumn'
    end as season
from marts.calls
inner join records.calls as rows on rows.call_id = calls.call_id and rows.withdrawn_by is null
inner join marts.symptom_sets on symptom_sets.symptom_set = calls.symptom_set
left join records.units as units on units.unit_id = calls.unit_id and units.withdrawn_by is null
left join implied on implied.text = rows.complaint
left join texts.amounts as told on told.field = 'filter_last_changed' and told.text = rows.filter_last_changed
left join texts.amounts as durations on durations.field = 'problem_duration' and durations.text = rows.problem_duration
left join level as filter_kind on filter_kind.field = 'filter_kind' and filter_kind.text = rows.filter_kind
left join level as unit_filter_kind
    on unit_filter_kind.field = 'filter_kind' and unit_filter_kind.text = units.filter_kind
left join level as mould_state on mould_state.field = 'mould_state' and mould_state.text = rows.mould_state
left join level as dispenser_flow on dispenser_flow.field = 'dispenser_flow' and dispenser_flow.text = rows.dispenser_flow
left join level as fill_tube_ice on fill_tube_ice.field = 'fill_tube_ice' and fill_tube_ice.text = rows.fill_tube_ice
left join level as switch_on on switch_on.field = 'switch_on' and switch_on.text = rows.switch_on
left join level as freezer_temperature
    on freezer_temperature.field = 'freezer_temperature' and freezer_temperature.text = rows.freezer_temperature
left join level as unit_supply on unit_supply.field = 'supply_type' and unit_supply.text = units.water_supply
left join level as shutoff_valve on shutoff_valve.field = 'shutoff_valve' and shutoff_valve.text = rows.shutoff_valve
left join level as unit_shutoff on unit_shutoff.field = 'shutoff_valve' and unit_shutoff.text = units.shutoff_valve
left join level as what_changed on what_changed.field = 'what_changed' and what_changed.text = rows.what_changed
left join level as where_it_stands
    on where_it_stands.field = 'where_it_stands' and where_it_stands.text = rows.where_it_stands
left join level as unit_location on unit_location.field = 'where_it_stands' and unit_location.text = units.location
left join level as already_tried on already_tried.field = 'already_tried' and already_tried.text = rows.already_tried
left join level as ice_maker_kind
    on ice_maker_kind.field = 'ice_maker_kind' and ice_maker_kind.text = units.ice_maker_kind
where calls.standing <> 'not_a_repair';

create view marts.training as              -- one row per string of returns: its first call's intake, and what it came to
select
    intake.*,
    episodes.episode_id,
    episodes.place,
    episodes.last_closed_at,               -- mature 30 days later, when the answer is known
    episodes.final_cause,                  -- null: none recorded, not recognised, or one that is never final
    coalesce(episodes.confirmed, false) as confirmed,
    last_calls.cause as last_cause,        -- as recorded on the last call; null: blank or not recognised
    episodes.held
from marts.episodes
inner join marts.intake on intake.call_id = episodes.episode_id
inner join marts.calls as last_calls on last_calls.call_id = episodes.last_call_id;
