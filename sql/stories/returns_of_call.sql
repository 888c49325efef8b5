-- Returns that one call is part of, on either side: one row per pair and match.
-- Columns: charged_call_id, return_call_id, opened_at (of the return), days_between, match, window_bits.
with either_side as (
    select * from marts.returns where charged_call_id = $call_id
    union all
    select * from marts.returns where return_call_id = $call_id
)

select
    charged_call_id,
    return_call_id,
    return_opened_at as opened_at,
    gap_days as days_between,
    match,
    window_bits
from either_side
order by return_opened_at, match desc;
