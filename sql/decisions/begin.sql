-- Begin to write: nobody else does until it ends.
begin immediate;
