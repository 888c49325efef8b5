-- checkpoint: move everything written so far from the log into the database file itself.
checkpoint;
