-- Filter changes of one unit as recorded, in order. Column: changed_on.
select changed_on
from records.filter_changes
where withdrawn_by is null and unit_id = $unit_id
order by changed_on;
