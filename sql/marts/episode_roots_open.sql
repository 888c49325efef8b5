-- How many rows of episode_roots do not point to the first call yet. One row: still_open.
select count(*) as still_open
from episode_roots as roots
semi join episode_roots as further on further.call_row = roots.root_row;
