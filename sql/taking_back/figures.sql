-- Calls, and calls counted as a return within 30 days of the same family. Grain: one row. Columns: calls, callbacks.
select count(*) as calls, count(*) filter (where (is_callback_bits & 4) <> 0) as callbacks
from marts.calls;
