-- schema_version: one row, the version of the tables in this generation.
select schema_version from store.about;
