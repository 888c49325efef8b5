-- A page of the texts not recognised, most frequent first; $field null: of all fields. Columns: field, text, rows.
select field, text, "rows"
from marts.unrecognised
where $field::varchar is null or field = $field::varchar
order by "rows" desc, field, text
limit $limit offset $offset;
