-- Those of $call_ids that are calls in the data as loaded. Column: call_id.
select call_id from marts.calls where call_id in (select unnest($call_ids::varchar[]));
