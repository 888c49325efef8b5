-- How many texts were not recognised; $field null: of all fields. One row: texts.
select count(*) as texts from marts.unrecognised where $field::varchar is null or field = $field::varchar;
