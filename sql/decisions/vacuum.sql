-- Write the file anew, without what was deleted.
vacuum;
