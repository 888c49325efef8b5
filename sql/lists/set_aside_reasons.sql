-- Rows set aside and not mended since, by first reason, most first. Grain: one row per reason. Columns: reason, rows.
select reason, count(*) as "rows"
from loads.set_aside
where rank = 1 and (file_id, line) not in (select (file_id, line) from loads.mended)
group by reason
order by "rows" desc, reason;
