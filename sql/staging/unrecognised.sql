-- Rows of a file whose words were not recognised. Grain: one row per coding field.
select field, sum("rows")::bigint as "rows"
from texts_met join texts.codings using (field, text)
where how = 'not recognised'
group by all
order by all;
