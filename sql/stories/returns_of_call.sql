-- Returns that one call is part of, on either side: one row per pair and match.
-- Columns: charged_call_id, return_call_id, opened_at (of the return), days_between, match, window_bits.
select
    returns.charged_call_id,
    returns.return_call_id,
    later.opened_at,
    returns.gap_days as days_between,
    returns.match,
    returns.window_bits
from marts.returns
inner join marts.calls as later on later.call_id = returns.return_call_id
where returns.charged_call_id = $call_id or returns.return_call_id = $call_id
order by later.opened_at, returns.match desc;
