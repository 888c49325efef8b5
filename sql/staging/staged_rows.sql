-- Number of staged rows. Grain: one row.
select count(*) as "rows" from staged;
