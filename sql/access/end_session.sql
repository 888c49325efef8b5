-- End the session of one token.
delete from sessions where token_hash = $token_hash;
