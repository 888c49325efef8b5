-- Bring the write-ahead log into the file and cut it to nothing. One row: busy (1: somebody reads), log, checkpointed.
pragma wal_checkpoint(truncate);
