-- touched_units: units whose records a load changed, for the build of the marts. Grain: one row or more per unit.
create temp table if not exists touched_units (unit_id varchar not null);
