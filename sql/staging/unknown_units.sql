-- Set the staged rows aside whose unit of measure is one of $unknown_units.
-- Grain: one row per check.
update staged
set reasons = list_append(coalesce(reasons, []), reason('unknown_unit', 'reading_unit', reading_unit))
where reading_unit in (select unnest($unknown_units));
