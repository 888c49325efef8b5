-- Give one account another password.
update users set password_hash = $password_hash where number = $number;
