-- Texts of one field, coded before, that a mapping now gives a meaning. Grain: one row per text.
-- Binds $field and $words (lower case, without spaces around).
select text, codes, how
from texts.codings
where field = $field and lower(trim(text)) in (select unnest($words))
order by text;
