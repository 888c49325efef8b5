"""Reading a store: one read-only connection a process that moves on to a new generation by itself."""

import threading
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from weakref import WeakKeyDictionary

import duckdb

from analytics.errors import StoreProblem
from analytics.store_files import Generation, generation_path
from analytics.store_opening import open_for_reading
from analytics.store_pointer import read_pointer

_in_use: "WeakKeyDictionary[duckdb.DuckDBPyConnection, Path]" = WeakKeyDictionary()
_in_use_lock = threading.Lock()
_TRIES = 5

HELD_FROM_BYTES = 32 * 2**20
"""Size of a generation, some 50,000 calls, from which it is made ready before it is shown.

Below it whoever asks first waits about a second.
"""


def generations_in_use() -> set[Path]:
    """Generation files that this process holds a reading connection or cursor to."""
    with _in_use_lock:
        return set(_in_use.values())


class Reader:
    """Reads the current generation of a store; safe to share between threads.

    Parameters
    ----------
    folder : Path
        The data folder of the store.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._lock = threading.Lock()
        self._generation: Generation | None = None
        self._connection: duckdb.DuckDBPyConnection | None = None

    def cursor(self) -> duckdb.DuckDBPyConnection:
        """Return a cursor of its own on the generation that is current now; see `now`."""
        return self.now()[0]

    def now(self) -> tuple[duckdb.DuckDBPyConnection, Generation]:
        """Return a cursor of its own on the generation that is current now, and which that is.

        Queries that belong together use one cursor: all of them then see the same generation, whatever is
        loaded meanwhile. A cursor is for one thread; take another for the next question.

        Raises
        ------
        StoreProblem
            When nothing was loaded yet, or the store is damaged or of another version.
        """
        with self._lock:
            connection, generation = self._follow()
            cursor = connection.cursor()
        with _in_use_lock:
            _in_use[cursor] = generation.path
        return cursor, generation

    def generation(self) -> Generation:
        """Return the generation that is current now, as `cursor` would read it."""
        with self._lock:
            return self._follow()[1]

    def close(self) -> None:
        """Let the file go; cursors handed out keep working until they are dropped."""
        with self._lock:
            self._connection = self._generation = None

    def _wanted(self, newest: Generation | None) -> Generation | None:
        """Return the generation to read when this is the newest."""
        return newest

    def _follow(self) -> tuple[duckdb.DuckDBPyConnection, Generation]:
        for _ in range(_TRIES):
            named = self._wanted(read_pointer(self._folder))
            if named is None:
                raise StoreProblem(
                    f"Nothing has been loaded into {self._folder} yet. Load a file of calls "
                    f"(`service-calls --data {self._folder} load calls.csv`), or name another folder with "
                    f"--data."
                )
            if self._connection is not None and named == self._generation:
                return self._connection, named
            try:
                connection = open_for_reading(named)
            except FileNotFoundError:
                continue  # pruned between reading the pointer and opening the file: the pointer moved on
            # The old connection is dropped, not closed: closing it would close the cursors in use elsewhere.
            self._connection, self._generation = connection, named
            with _in_use_lock:
                _in_use[connection] = named.path
            return connection, named
        raise StoreProblem(
            f"The current generation of {self._folder} keeps vanishing. Is something deleting it?"
        )


class HoldingReader(Reader):
    """Stays with the generation that it reads until it is told that the next, a large one, is ready.

    It moves on by itself where that takes no time, and where staying would be wrong: when its generation was
    removed, as by `forget`, or the store went back to an earlier one.
    """

    _ready = 0

    def move_on(self, number: int) -> None:
        """Read the generation of this number, which is ready, from now on."""
        self._ready = number

    def _wanted(self, newest: Generation | None) -> Generation | None:
        held = self._generation
        if newest is None or held is None or newest.number <= max(held.number, self._ready):
            return newest
        with suppress(FileNotFoundError):  # removed, perhaps in this very moment
            if newest.path.stat().st_size < HELD_FROM_BYTES:
                return newest
            if held.number < self._ready:
                path = generation_path(self._folder, self._ready)
                made_at = datetime.fromtimestamp(path.stat().st_mtime)
                return Generation(self._ready, path, newest.schema_version, made_at)
            held.path.stat()
            return held
        return newest
