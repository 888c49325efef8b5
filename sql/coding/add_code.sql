-- Give a technician a code. Binds $technician, $code.
insert into technician_codes (technician, code) values ($technician, $code);
