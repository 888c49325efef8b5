-- similar: recent calls that were finished and stayed so, with the cause confirmed: one row a call, the latest $most of
-- the last $days days before their window could pass.
-- Columns: those of marts.training, closed_on, parts (fitted on the last call).
select
    training.*,
    training.last_closed_at::date as closed_on,
    part_sets.parts
from marts.training
inner join marts.episodes on episodes.episode_id = training.episode_id
inner join marts.calls as last_calls on last_calls.call_id = episodes.last_call_id
inner join marts.part_sets on part_sets.part_set = last_calls.part_set
where training.confirmed
    and training.held
    and episodes.calls = 1
    and training.last_closed_at <= ($cutoffs::timestamp[])[training.place]
    and episodes.last_closed_at > list_max($cutoffs::timestamp[]) - to_days($days::integer)
order by training.last_closed_at desc, training.call_id
limit $most;
