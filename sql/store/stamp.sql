-- stamp: write the version of the tables into a new generation.
-- Binds: $schema_version.
insert into store.about (schema_version) values ($schema_version);
