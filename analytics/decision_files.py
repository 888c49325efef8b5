"""The SQLite file of decisions: opened to read or write, with a write-ahead log."""

import sqlite3
import time
from pathlib import Path

from analytics import queries

WAIT_SECONDS = 5.0


def is_made(connection: sqlite3.Connection) -> bool:
    """Say whether the tables were made; a first write that was cut off leaves an empty file."""
    return connection.execute(queries.statement("decisions/is_made")).fetchone()[0] > 0


def connect(path: Path, mode: str) -> sqlite3.Connection:
    """Open the file; one in a folder that can not be written is read as it stands.

    A reader of a file with a write-ahead log needs to make a small file beside it. Where it may not, and
    nobody is writing (there is no log), the file alone is whole, and is read as unchangeable.
    """
    uri = f"{path.absolute().as_uri()}?mode={mode}"
    connection = sqlite3.connect(uri, uri=True, timeout=WAIT_SECONDS, isolation_level=None)
    if mode != "ro":
        return connection
    try:
        is_made(connection)
    except sqlite3.OperationalError:
        connection.close()
        if _has_log(path):
            raise
        connection = sqlite3.connect(uri + "&immutable=1", uri=True, isolation_level=None)
    return connection


def _has_log(path: Path) -> bool:
    log = path.with_name(path.name + "-wal")
    return log.exists() and log.stat().st_size > 0


def use_wal(connection: sqlite3.Connection) -> None:
    """Switch to a write-ahead log; while another process does the same it is asked again."""
    until = time.monotonic() + WAIT_SECONDS
    while True:
        try:
            connection.execute(queries.statement("decisions/use_wal"))
            return
        except sqlite3.OperationalError:
            if time.monotonic() > until:
                raise
            time.sleep(0.02)
