-- catalogue_hash: the catalogue by which the records are coded. One row. Columns: hash.
select hash from catalogue.about;
