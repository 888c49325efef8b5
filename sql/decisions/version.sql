-- The version of the file of decisions. One row: schema_version.
select schema_version from about;
