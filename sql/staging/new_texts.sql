-- Texts met in a file that were never coded. Grain: one row per field and text.
select distinct field, text
from texts_met anti join texts.codings using (field, text)
where text is not null
order by all;
