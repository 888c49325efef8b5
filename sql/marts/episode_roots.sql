-- episode_roots: one row per return of an episode and a call before it in the same episode; at first the call it is
-- counted against (30 days, same family), in the end the first call. Temporary.
create or replace temp table episode_roots as
select return_row as call_row, charged_row as root_row
from charges
where match = 'family' and (window_bits & 4) <> 0;
