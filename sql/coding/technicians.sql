-- Everybody whom a technician column of a generation names, rows that were replaced or withdrawn included. One row a name.
-- Columns: technician.
with named as (
    select technician_id as technician from records.calls
    union
    select technician_id from records.visits
    union
    select helper_id from records.visits
    union
    select technician_id from records.technicians
    union
    select technician_id from replaced.calls
    union
    select technician_id from replaced.visits
    union
    select helper_id from replaced.visits
    union
    select technician_id from replaced.technicians
    union
    select technician from marts.calls
    union
    select diagnosis_technician from marts.calls
    union
    select return_technician from marts.returns
    union
    select technician from marts.visits
    union
    select value from marts.choices where field = 'technicians'
)

select technician from named where technician is not null order by technician;
