-- Checks made on repairs, whatever is chosen: one row per check recorded, in no order.
-- verdict, of calls whose string of returns stayed fixed and has a known final cause:
--   found      a fault, and the check reveals the final cause
--   ruled_out  no fault, and the final cause is not one that it reveals
--   missed     no fault, although the check reveals the final cause
--   elsewhere  a fault, and the final cause is not one that it reveals
--   unclear    neither fault nor no fault was recorded
-- and of all others: unknown.
-- minutes: hands-on, as recorded; null where none, or not above 0 and at most 12 hours. proves: one of $proof_checks that did not
-- find a fault. Columns: row_id (of marts.calls), check_code (null: not recognised), verdict, minutes, proves.
with ended as (
    select
        calls.rowid as row_id,
        calls.call_id,
        if(episodes.held, episodes.final_cause, null) as final_cause
    from marts.calls
    left join marts.episodes on episodes.episode_id = coalesce(calls.episode_id, calls.call_id)
    where calls.standing <> 'not_a_repair'
)

select
    ended.row_id,
    checks.check_code,
    case
        when ended.final_cause is null then 'unknown'
        when checks.finding = 'fault' then if(reveals.cause is null, 'elsewhere', 'found')
        when checks.finding = 'no_fault' then if(reveals.cause is null, 'ruled_out', 'missed')
        else 'unclear'
    end as verdict,
    if(checks.minutes > 0 and checks.minutes <= 720, checks.minutes, null)::float as minutes,
    coalesce(list_contains($proof_checks::varchar[], checks.check_code), false)
    and coalesce(checks.finding <> 'fault', true) as proves
from marts.checks
inner join ended on ended.call_id = checks.call_id
left join catalogue.reveals
    on reveals.check_code = checks.check_code and reveals.cause = ended.final_cause;
