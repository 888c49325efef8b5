-- When the latest load into this store began, by the clock of its machine; null before the first. Grain: one row.
select max(started_at) as started_at from loads.loads;
