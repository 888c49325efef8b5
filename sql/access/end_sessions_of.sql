-- End every session of one account.
delete from sessions where user_number = $number;
