-- Say once which version the file of decisions has.
insert into about (schema_version) select $version where not exists (select 1 from about);
