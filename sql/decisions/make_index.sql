-- Finds the latest decision on a thing without reading all of them.
create index if not exists decisions_by_key on decisions (kind, key, matter, number);
