-- training: the rows a model of causes learns from and is judged on. One row per string of returns that is mature, in no order: the window of
-- its last completed call has passed before the end of observation of its place ($cutoffs, as in marts.selection), opened after $since (null: whenever).
-- Columns: those of marts.training, and learned_at: when its cause was known for sure, 30 days after the last closing.
-- Rules: the first call's intake; the last call's cause; taken for learning only where that cause is confirmed.
select
    *,
    last_closed_at + interval 30 day as learned_at
from marts.training
where last_closed_at <= ($cutoffs::timestamp[])[place]
    and ($since::timestamp is null or opened_at > $since::timestamp);
