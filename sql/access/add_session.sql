-- Begin one session.
insert into sessions (token_hash, user_number, made_at, seen_at) values ($token_hash, $number, $now, $now);
