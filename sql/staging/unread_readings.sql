-- Staged readings that hold a comma and could not be read as a number. Grain: one row.
select count(*) as "rows" from staged where reading is null and contains(reading_text, ',');
