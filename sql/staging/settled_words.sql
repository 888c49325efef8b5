-- What people settled the texts of one field to mean; case and spaces around do not matter. Grain: one row per word.
-- Columns: word, codes. Binds $field.
select distinct lower(trim(text)) as word, codes from texts.codings where field = $field and how = 'settled';
