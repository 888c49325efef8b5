-- asked: one row per call whose customer was asked afterwards whether it works; temporary, taken over by marts.calls.
-- Columns: call_row, follow_up (the latest recognised answer that says something, else not_reached), follow_up_on.
-- What was asked before the closing is about something else.
create or replace temp table asked as
with answers as (
    select
        calls.call_row,
        codings.codes[1] as answer,
        follow_ups.asked_on
    from records.follow_ups
    inner join coded_calls as calls on calls.call_id = follow_ups.call_id
    inner join texts.codings on codings.field = 'follow_up_answer' and codings.text = follow_ups.answer
    where follow_ups.withdrawn_by is null
        and len(codings.codes) > 0
        and calls.closed_at is not null
        and follow_ups.asked_on >= calls.closed_at::date
)

select
    call_row,
    arg_max(answer, (answer <> 'not_reached', asked_on)) as follow_up,
    arg_max(asked_on, (answer <> 'not_reached', asked_on)) as follow_up_on
from answers
group by call_row;
