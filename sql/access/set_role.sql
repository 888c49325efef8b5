-- Give one account another role.
update users set role = $role where number = $number;
