-- staged: the rows of one file of parts, typed and judged on their own.
-- Grain: one row per record of the file, in its order. Columns: as in staging/calls, then records.parts.
-- Binds $skip, $path, $columns, $separator, $quote, $line_end, $longest_line, $quantity_sign, $cost_sign, $header_word.
create or replace temp table staged as
with lacking as (
    select
        null::bigint as source_line, null::varchar as visit_id, null::varchar as call_id, null::varchar as part,
        null::varchar as quantity, null::varchar as cost
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
        as_text(visit_id) as visit_id,
        as_text(call_id) as call_id,
        as_words(part) as part,
        as_words(quantity) as quantity_written,
        as_number(quantity, $quantity_sign) as quantity,
        as_words(cost) as cost_written,
        as_number(cost, $cost_sign) as cost
    from incoming
),
judged as (
    select
        *,
        (visit_id is not null or call_id is not null) and part is not null and part <> $header_word
            and (quantity_written is null or quantity is not null)
            and (cost_written is null or cost is not null) as holds
    from typed
)
select
    source_line,
    hash(visit_id, call_id, part, 1) as key_hash,
    hash(visit_id, call_id, part, coalesce(quantity, 1), cost) as row_hash,
    null::timestamp as moment,
    case
        when not holds then reasons_of([
            header_reason('part', part, $header_word),
            case when visit_id is null and call_id is null then reason('missing_value', 'visit_id', null) end,
            filled_reason('part', part),
            number_reason('quantity', quantity_written, quantity),
            number_reason('cost', cost_written, cost)
        ])
    end as reasons,
    visit_id, call_id, part, 1 as occurrence, coalesce(quantity, 1) as quantity, cost
from judged;

-- Equal parts of one file are told apart by counting them.
create or replace temp table counted_again as
select rowid as staged_row, row_number() over (partition by key_hash order by rowid) as occurrence
from staged
where reasons is null
    and key_hash in (select key_hash from staged where reasons is null group by key_hash having count(*) > 1);

update staged
set occurrence = again.occurrence, key_hash = hash(visit_id, call_id, part, again.occurrence::integer)
from counted_again as again
where staged.rowid = again.staged_row and again.occurrence > 1;
