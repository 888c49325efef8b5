-- part_costs: mean cost of a part, as recorded. One row per part with a cost. Columns: part, cost, pieces.
select
    part,
    sum(cost) / sum(quantity) as cost,
    sum(quantity) as pieces
from marts.parts
where part is not null and cost is not null and quantity > 0
group by part
order by part;
