-- Every code. One row a technician. Columns: technician, code.
select technician, code from technician_codes;
