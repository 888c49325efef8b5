"""Writing a generation anew, so that what was deleted leaves no trace in the file."""

from collections.abc import Callable
from pathlib import Path

import duckdb

from analytics import queries
from analytics.store_files import Generation, copy, remove
from analytics.store_opening import open_for_writing


def rewrite_generation(
    base: Generation, path: Path, scratch: Path, change: Callable[[duckdb.DuckDBPyConnection], None]
) -> None:
    """Change a copy of a generation, and copy what is left into a new file.

    Parameters
    ----------
    base : Generation
        Stays as it is.
    path : Path
        The new file; nothing is left of it when this raises.
    scratch : Path
        Folder for the copy; it is removed afterwards.
    change : callable
        Gets a connection to the copy, read-write.

    Notes
    -----
    Deleting rows marks their blocks as free and leaves their bytes; only rows that are there are copied.
    """
    remove(scratch)
    scratch.mkdir()
    connection = None
    try:
        old = scratch / "old.duckdb"
        copy(base.path, old)
        connection = open_for_writing(old, scratch, base)
        change(connection)
        queries.run(connection, "store/attach_afresh", {"path": str(path)})
        queries.run(connection, "store/copy_afresh")
    except BaseException:
        if connection is not None:
            connection.close()
        remove(path)
        raise
    finally:
        if connection is not None:
            connection.close()
        remove(scratch)
