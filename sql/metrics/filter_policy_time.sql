-- Filters over time by units that are alike, for what other rules of changing would do. Reads filter_spells, see
-- metrics/filter_time. All temporary, on the cursor that asks. Binds $groups: units fall into so many groups by hash.
-- filter_pieces: one row per unit, filter and age of the unit in years, as far as at risk: unit, unit_group, kind (hash
-- of water supply, shutoff valve and unit age; product families would leave kinds too thin), known_on, from_on, to_on, from_age, to_age (days since
-- known_on, both included), planned_from (days since the latest change at a visit, or first known date, of from_on's eve).
-- filter_starts: one row per unit and filter whose change lies within the time at risk: unit_group, at_visit.
-- filter_resets: one row per unit, filter and months: changed_at, ages in days at which the filter would have been changed,
-- were it changed at each visit where it is older than the months; 0, the change that was made, is the first.
create or replace temp table filter_visit_days as
select distinct calls.unit_hash as unit, visits.arrived_at::date as day
from marts.visits
inner join marts.calls on calls.call_id = visits.call_id
where visits.let_in;

create or replace temp table filter_anchored as
with at_visits as (
    select unit, day from filter_visit_days
    union
    select unit, known_on from filter_change_days where not in_changes
),

marked as (
    select
        spells.*,
        at_visits.unit is not null as at_visit,
        at_visits.unit is not null
        or not spells.changed
        or row_number() over (partition by spells.unit order by spells.known_on) = 1 as is_anchor
    from filter_spells as spells
    left join at_visits on at_visits.unit = spells.unit and at_visits.day = spells.known_on
)

select
    *,
    max(if(is_anchor, known_on, null)) over (
        partition by unit order by known_on rows between unbounded preceding and current row
    ) as planned_on
from marked;

create or replace temp table filter_pieces as
with -- years of 365.25 days; before the recorded day of installation a unit counts as new
unit_ages (unit_age, from_days, below_days) as (
    values
    ('0 to 1', -100000, 366), ('1 to 3', 366, 1096), ('3 to 6', 1096, 2192), ('6 to 9', 2192, 3288),
    ('9 and more', 3288, 100000)
),

pieces as (
    select
        spells.unit,
        spells.known_on,
        spells.planned_on,
        hash(spells.water_supply, spells.shutoff_valve, unit_ages.unit_age) as kind,
        greatest(spells.from_on, coalesce(spells.installed_on + unit_ages.from_days, spells.from_on)) as from_on,
        least(spells.to_on, coalesce(spells.installed_on + unit_ages.below_days - 1, spells.to_on)) as to_on
    from filter_anchored as spells
    left join unit_ages
        on spells.installed_on + unit_ages.from_days <= spells.to_on
        and spells.installed_on + unit_ages.below_days > spells.from_on
)

select
    unit,
    (unit % $groups)::bigint as unit_group,
    kind,
    known_on,
    from_on,
    to_on,
    from_on - known_on as from_age,
    to_on - known_on as to_age,
    from_on - planned_on - 1 as planned_from
from pieces;

create or replace temp table filter_starts as
select (unit % $groups)::bigint as unit_group, at_visit
from filter_anchored
where changed and from_on = known_on + 1;

create or replace temp table filter_resets as
with visits as (
    select
        spells.unit,
        spells.known_on,
        list(days.day - spells.known_on order by days.day) as ages
    from filter_spells as spells
    inner join filter_visit_days as days
        on days.unit = spells.unit and days.day > spells.known_on and days.day < spells.to_on
    group by spells.unit, spells.known_on
),

older_than (months, days) as (values (3, 91), (6, 182), (9, 273), (12, 365)) -- months of 30.4375 days, in whole days

select
    visits.unit,
    visits.known_on,
    older_than.months,
    list_reduce(
        list_transform(visits.ages, lambda age: [age]),
        lambda changed, age: if(age[1] - changed[-1] > older_than.days, changed || age, changed),
        [0]
    ) as changed_at
from visits
inner join older_than on list_last(visits.ages) > older_than.days;
