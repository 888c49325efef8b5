-- Whether any check was loaded. One row: has_checks.
select exists(select 1 from records.checks where withdrawn_by is null) as has_checks;
