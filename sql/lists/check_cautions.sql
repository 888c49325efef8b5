-- Checks of the catalogue with the class of their caution. Columns: code, label, caution.
select code, label, caution from catalogue.checks order by code;
