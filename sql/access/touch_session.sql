-- Note that a session is in use.
update sessions set seen_at = $now where token_hash = $token_hash;
