-- started: since when technicians are with the company. One row per technician with a day of starting.
-- Columns: technician, started_on.
select technician_id as technician, started_on
from records.technicians
where withdrawn_by is null and started_on is not null
order by technician;
