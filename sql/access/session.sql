-- The session of one token with its account, one row at most. Columns: made_at, seen_at, number, name, role.
select sessions.made_at, sessions.seen_at, users.number, users.name, users.role
from sessions
inner join users on users.number = sessions.user_number
where sessions.token_hash = $token_hash;
