-- Whether there is any account. One row: found (1 or 0).
select exists (select 1 from users) as found;
