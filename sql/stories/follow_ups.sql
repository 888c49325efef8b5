-- Asking afterwards, for the calls in $call_ids. Columns: call_id, asked_on, answer (code), answer_label, written, asked_by.
select
    follow_ups.call_id,
    follow_ups.asked_on,
    codings.codes[1] as answer,
    coalesce(levels.label, follow_ups.answer) as answer_label,
    follow_ups.answer as written,
    follow_ups.asked_by
from records.follow_ups
left join texts.codings on codings.field = 'follow_up_answer' and codings.text = follow_ups.answer
left join catalogue.levels on levels.field = 'follow_up_answer' and levels.code = codings.codes[1]
where follow_ups.withdrawn_by is null and follow_ups.call_id in (select unnest($call_ids::varchar[]))
order by follow_ups.asked_on;
