-- The field and text of a phrase by its key, as made by `analytics.fleet_changing.phrase_key`. Grain: at most one row.
-- Binds $key.
select field, text from texts.codings where left(sha256(field || chr(31) || text), 32) = $key;
