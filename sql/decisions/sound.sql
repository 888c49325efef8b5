-- Reads the whole file and looks for damage: one row that says ok, else a row for each fault.
pragma integrity_check;
