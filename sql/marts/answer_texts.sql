-- answer_texts: what the texts of the answers about time come to. One row per field and distinct text.
-- Fields filter_last_changed, problem_duration, unit_age. Columns: day (a calendar day named), days_ago (a length
-- of time told, in days, rounded up so that "12 months" are 12 months), feast_month and feast_day (a season or
-- feast: the latest such day before the call), is_never, since_new.
-- Days stand for words without a number: a few days 3, weeks 14, months 61 (our convention, no source).
-- A season is taken by its middle, northern half of the world (our convention, no source).
create or replace temp table answer_texts as
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
