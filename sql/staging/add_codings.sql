-- Keep what the texts in new_codings (a frame with the columns of texts.codings) were taken to mean.
-- Grain: one row per field and text.
insert into texts.codings by name from new_codings;
