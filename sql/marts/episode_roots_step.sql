-- episode_roots, each row pointing twice as far back; repeated until episode_roots_open counts none.
create or replace temp table episode_roots as
select roots.call_row, coalesce(further.root_row, roots.root_row) as root_row
from episode_roots as roots
left join episode_roots as further on further.call_row = roots.root_row;
