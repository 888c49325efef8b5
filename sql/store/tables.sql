-- tables: every table of a generation. Grain: one table.
-- Columns: name (schema and table).
select table_schema || '.' || table_name as name
from information_schema.tables
where table_type = 'BASE TABLE'
order by name;
