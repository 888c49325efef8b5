-- read_through: reads every value of a table, so that the checksum of each of its blocks is checked. Grain: one row.
-- Binds $table (schema and table). Columns: rows, digest (of all rows, in any order).
select count(*) as rows, bit_xor(hash(whole))::varchar as digest from query_table($table) as whole;
