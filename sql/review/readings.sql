-- Readings taken on the calls in $call_ids up to $until, as written, one row a call: call_id, readings (list of "check: reading").
with visits as (
    select visit_id, call_id, arrived_at
    from records.visits
    where withdrawn_by is null
        and call_id in (select unnest($call_ids::varchar[]))
        and arrived_at <= $until::timestamp
),

made as (
    select visits.call_id, visits.arrived_at, checks.*
    exclude (call_id)
    from records.checks
    inner join visits on visits.visit_id = checks.visit_id
    where checks.withdrawn_by is null
    union all
    select checks.call_id, null, checks.*
    exclude (call_id)
    from records.checks
    where checks.withdrawn_by is null
        and checks.visit_id is null
        and checks.call_id in (select unnest($call_ids::varchar[]))
)

select
    made.call_id,
    list(
        coalesce(checks.label, made."check") || ': '
        || coalesce(made.reading_text, printf('%g', made.reading))
        || coalesce(' ' || nullif(made.reading_unit, ''), '')
        || coalesce(', ' || levels.label, '')
        order by made.arrived_at nulls last, made.sequence nulls last, made.occurrence
    ) as readings
from made
left join texts.codings as check_codes on check_codes.field = 'check' and check_codes.text = made."check"
left join catalogue.checks on checks.code = check_codes.codes[1]
left join texts.codings as findings on findings.field = 'finding' and findings.text = made.finding
left join catalogue.levels on levels.field = 'finding' and levels.code = findings.codes[1]
where coalesce(made.reading_text, made.reading::varchar) is not null
group by made.call_id;
