-- call_parts: one row per call in scope with a part fitted. Temporary; marts.part_sets gains the sets not met before.
-- part_rows: one row per part fitted whose call is known; fitted_on is the day of the visit, else of closing, else of
-- opening.
create or replace temp table part_rows as
with part_codes as (
    select codings.text, parts.*
    from texts.codings
    inner join catalogue.parts on parts.code = codings.codes[1]
    where codings.field = 'part'
)

select
    calls.call_row,
    calls.unit_id,
    part_codes.code as part,
    coalesce(part_codes.is_filter, false) as is_filter,
    coalesce(part_codes.water_side, false) as water_side,
    coalesce(visit_records.arrived_at, calls.closed_at, calls.opened_at)::date as fitted_on
from scope_parts as parts
left join visit_records on visit_records.visit_id = parts.visit_id
inner join coded_calls as calls on calls.call_id = coalesce(parts.call_id, visit_records.call_id)
left join part_codes on part_codes.text = parts.part;

create or replace temp table call_part_lists as
select
    call_row,
    coalesce(list_sort(list(distinct part) filter (part is not null)), []) as parts,
    bool_or(water_side) as water_side
from part_rows
group by call_row;

insert into marts.part_sets
select 0, []
where not exists (from marts.part_sets);

insert into marts.part_sets
with new as (
    select distinct parts
    from call_part_lists
    where parts not in (select parts from marts.part_sets)
)

select (select max(part_set) from marts.part_sets) + row_number() over (order by parts), parts
from new;

create or replace temp table call_parts as
select lists.call_row, part_sets.part_set, lists.water_side
from call_part_lists as lists
inner join marts.part_sets on part_sets.parts = lists.parts;
