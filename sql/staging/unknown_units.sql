-- Doubt the staged rows whose unit of measure is one of $unknown_units. Grain: one row per check.
insert into doubtful
select rowid + 1, 'unknown_unit', 'reading_unit', left(reading_unit, 200)
from staged
where reasons is null and reading_unit in (select unnest($unknown_units));
