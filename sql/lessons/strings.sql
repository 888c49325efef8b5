-- Strings of returns to pick cases from: one row per string that is mature ($cutoffs, by place), has a confirmed cause and began in the last
-- $months months of its place. Answers are those of its first call, as codes; null: not asked or not recognised.
-- found_by_check: on one of its calls, a check that reveals its cause found a fault. families: kinds of complaint.
with chosen as (
    select *
    from marts.diagnoses
    where confirmed
        and technician is not null
        and first_thought is not null
        and last_closed_at <= ($cutoffs::timestamp[])[place]
        and opened_at >= ($cutoffs::timestamp[])[place] - to_months($months::integer)
),

found as (
    select distinct chosen.episode_id
    from chosen
    inner join marts.calls on coalesce(calls.episode_id, calls.call_id) = chosen.episode_id
    inner join marts.checks on checks.call_id = calls.call_id and checks.finding = 'fault'
    inner join catalogue.reveals on reveals.check_code = checks.check_code and reveals.cause = chosen.final_cause
)

select
    chosen.episode_id,
    chosen.unit_hash,
    chosen.technician,
    chosen.first_thought,
    chosen.final_cause,
    chosen.standing,
    chosen.held,
    found.episode_id is not null as found_by_check,
    intake.families,
    intake.symptoms[1] as complaint,
    chosen.filter_age_band,
    intake.problem_duration,
    intake.mould_state,
    intake.dispenser_flow,
    intake.fill_tube_ice,
    intake.switch_on,
    intake.freezer_temperature,
    intake.supply_type,
    intake.shutoff_valve,
    intake.what_changed,
    intake.where_it_stands,
    intake.already_tried
from chosen
inner join marts.intake on intake.call_id = chosen.episode_id
left join found on found.episode_id = chosen.episode_id
order by chosen.episode_id;
