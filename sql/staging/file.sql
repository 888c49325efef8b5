-- Note a file and what became of its rows. Grain: one row.
-- Binds $file_id, $load_id, $file_name, $sha256, $reading_hash, $table, $source, $extracted_on, $extracted_from,
-- $latest_at, $full_extract, $encoding, $separator, $header, $mapping, $rows, $loaded, $updated, $repeated_exact,
-- $repeated_older, $set_aside, $withdrawn.
insert into loads.files by name
select
    $file_id as file_id, $load_id as load_id, $file_name as file_name, $sha256 as sha256,
    $reading_hash as reading_hash, $table as table_name, $source as source, $extracted_on as extracted_on,
    $extracted_from as extracted_from, $latest_at as latest_at, $full_extract as full_extract,
    $encoding as encoding, $separator as separator, $header as header, $mapping as mapping, $rows as "rows",
    $loaded as loaded, $updated as updated, $repeated_exact as repeated_exact, $repeated_older as repeated_older,
    $set_aside as set_aside, $withdrawn as withdrawn;
