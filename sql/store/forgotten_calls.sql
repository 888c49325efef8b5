-- The calls of what is forgotten. Binds $kind (technician, household, unit), $id. One row a call. Columns: call_id.
select call_id
from records.calls
where case $kind when 'unit' then unit_id when 'household' then household_id else technician_id end = $id
order by call_id;
