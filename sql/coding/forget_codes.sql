-- Take the codes of technicians away. Binds $technicians (a JSON list).
delete from technician_codes where technician in (select value from json_each($technicians));
