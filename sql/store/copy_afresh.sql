-- Copy everything that is not deleted into the new file, which so holds no trace of what is. No rows.
copy from database old to afresh;
checkpoint afresh;
detach afresh;
