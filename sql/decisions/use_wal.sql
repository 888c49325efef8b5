-- Readers go on while somebody writes, and a write that was cut off is undone when the file is next opened.
pragma journal_mode = wal;
