-- Whether any visit was loaded. One row: has_visits.
select exists (from marts.visits) as has_visits;
