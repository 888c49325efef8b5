-- Rows of the staged file by their first reason for setting aside. Grain: one row per reason.
select reasons[1].reason as reason, count(*) as "rows"
from staged
where reasons is not null
group by all;
