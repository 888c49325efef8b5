-- Remove one account.
delete from users where number = $number;
