-- Which checks reveal which causes, by the catalogue: one row per check and cause it reveals.
-- Columns: check_code, cause, share (0..1, of the times that the cause is there).
select check_code, cause, share from catalogue.reveals order by check_code, cause;
