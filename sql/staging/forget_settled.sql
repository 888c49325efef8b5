-- Forget what texts of one field were settled to mean. Grain: one row per text. Binds $field and $words (lower case,
-- without spaces around).
delete from texts.codings
where field = $field and how = 'settled' and lower(trim(text)) in (select unnest($words));
