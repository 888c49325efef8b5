-- part_rows: one row per part fitted whose call is known (a cell that names two parts gives two rows); fitted_on is the day of the visit, else of closing, else of
-- opening. call_parts: one row per call with a part fitted. Both temporary; marts.part_sets gains the sets not met yet.
create or replace temp table part_rows as
with part_codes as (
    select codings.text, parts.*
    from (select text, unnest(codes) as code from texts.codings where field = 'part') as codings
    inner join catalogue.parts on parts.code = codings.code
),

fitted as (
    select visits.call_row, visits.unit_hash, visits.arrived_at::date as fitted_on, parts.part
    from scope_parts as parts
    inner join visit_records as visits on visits.visit_id = parts.visit_id
    union all
    select calls.call_row, calls.unit_hash, coalesce(calls.closed_at, calls.opened_at)::date, parts.part
    from (from scope_parts where visit_id is null) as parts
    inner join coded_calls as calls on calls.call_id = parts.call_id
)

select
    fitted.call_row,
    fitted.unit_hash,
    fitted.fitted_on,
    part_codes.code as part,
    coalesce(part_codes.is_filter, false) as is_filter,
    coalesce(part_codes.water_side, false) as water_side
from fitted
left join part_codes on part_codes.text = fitted.part;

create or replace temp table call_part_lists as
with counted as (
    select call_row, any_value(part) as part, bool_or(water_side) as water_side, count(*) as fitted
    from part_rows
    group by call_row
),

several as (
    select part_rows.call_row, list_sort(list(distinct part) filter (part is not null)) as parts
    from part_rows
    semi join (from counted where fitted > 1) as counted on counted.call_row = part_rows.call_row
    group by part_rows.call_row
)

select
    counted.call_row,
    case when counted.fitted > 1 then coalesce(several.parts, []) when part is null then [] else [part] end as parts,
    counted.water_side
from counted
left join several on several.call_row = counted.call_row;

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
