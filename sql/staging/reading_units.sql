-- Units of measure in the staged file, as written. Grain: one row per spelling.
select distinct reading_unit from staged where reading_unit is not null order by all;
