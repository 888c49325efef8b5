-- End the sessions that began before $made_before or were last in use before $seen_before.
delete from sessions where made_at < $made_before or seen_at < $seen_before;
