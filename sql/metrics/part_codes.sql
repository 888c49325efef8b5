-- part_codes: the parts behind each combination of parts. One row per combination and part. Columns: part_set, code.
select set_number as part_set, code
from marts.set_codes('part')
where code is not null;
