-- Texts that people settled, with what they mean. Grain: one row per field and text. Columns: field, text, codes.
select field, text, codes from texts.codings where how = 'settled' order by field, text;
