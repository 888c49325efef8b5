"""The store: generations of one DuckDB file, a pointer to the current one, and one writer at a time.

A load never touches the file that is being read. It works on a copy under a new name, and the last step, an
atomic rename of a small pointer file, makes that copy the current generation. Whatever happens before that
step leaves the old generation as it was.
"""

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import duckdb

from analytics import queries
from analytics.coded_files import remove_coded
from analytics.errors import StoreProblem
from analytics.store_files import Generation, copy, generation_files, generation_path, remove, sync
from analytics.store_lock import loading_lock
from analytics.store_opening import SCHEMA_VERSION, check_version, create_tables, is_whole, open_for_writing
from analytics.store_pointer import newest_number, number_in_pointer, read_pointer, replace_pointer
from analytics.store_problems import store_problem
from analytics.store_reader import Reader, generations_in_use
from analytics.store_rewriting import rewrite_generation

__all__ = ["SCHEMA_VERSION", "WAIT_SECONDS", "Draft", "Generation", "Reader", "Store"]

Progress = Callable[[str, float], None]

KEPT_BEFORE_CURRENT = 2
WAIT_SECONDS = 600.0
SCRATCH = "load.tmp"


@dataclass
class Draft:
    """A generation being written.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        Read-write, on the copy. Cursors made from it are to be closed before the draft ends.
    generation : int
        The number it will have.
    scratch : Path
        A folder for files of this load alone; it is removed afterwards.
    first : bool
        Whether it is the first of its store: its tables are empty.
    abandoned : bool
        Set it by `abandon` when there turned out to be nothing to write.
    """

    connection: duckdb.DuckDBPyConnection
    generation: int
    scratch: Path
    first: bool
    abandoned: bool = False

    def abandon(self) -> None:
        """Leave the store as it is: nothing of this draft becomes current."""
        self.abandoned = True


class Store:
    """The generations in one folder.

    Parameters
    ----------
    data_dir : Path
        The folder; the first load makes it.
    """

    def __init__(self, data_dir: Path | str) -> None:
        self.folder = Path(data_dir).absolute()
        self._reader = Reader(self.folder)

    @staticmethod
    def default_dir() -> Path:
        """Return the folder that SERVICE_CALLS_DATA names, else ./data."""
        return Path(os.environ.get("SERVICE_CALLS_DATA") or "data")

    def exists(self) -> bool:
        """Say whether anything was ever loaded."""
        return self.current() is not None

    def current(self) -> Generation | None:
        """Return the current generation, or None before the first load.

        Raises
        ------
        StoreProblem
            When the pointer or the file it names is lost or damaged.
        """
        return read_pointer(self.folder)

    def generations(self) -> list[Generation]:
        """Return the generations that are kept, newest first; after `go_back` some lie after the current."""
        version = SCHEMA_VERSION if (current := self.current()) is None else current.schema_version
        found = []
        for number, path in reversed(generation_files(self.folder).items()):
            with suppress(FileNotFoundError):  # pruned in this very moment
                made_at = datetime.fromtimestamp(path.stat().st_mtime)
                found.append(Generation(number, path, version, made_at))
        return found

    def reader(self) -> Reader:
        """Return the reader of this process, which follows the pointer at each request."""
        return self._reader

    @contextmanager
    def writing(
        self, *, wait_seconds: float = WAIT_SECONDS, progress: Progress | None = None
    ) -> Iterator[Draft]:
        """Write a new generation: it becomes current when the block ends, and is thrown away when it raises.

        Parameters
        ----------
        wait_seconds : float
            How long to wait for another load to finish.
        progress : callable, optional
            Called with a stage ("waiting", "copying", "checkpoint", "pointer") and the share of it done.

        Raises
        ------
        StoreProblem
            When another load runs, the store is damaged or of another version, or the disk refuses.
        """
        report = progress or _silent
        with self._problems():
            self.folder.mkdir(parents=True, exist_ok=True)
        with self._locked(wait_seconds, report):
            yield from self._draft(report)

    def rewrite(
        self, change: Callable[[duckdb.DuckDBPyConnection], None], *, wait_seconds: float = WAIT_SECONDS
    ) -> None:
        """Change the current generation into a new file that holds no trace of before, and remove all others.

        Parameters
        ----------
        change : callable
            Gets a connection to a copy of the current generation, read-write.
        wait_seconds : float
            How long to wait for another load to finish.

        Raises
        ------
        StoreProblem
            As `writing`; the store is then as it was.
        """
        with self._locked(wait_seconds, _silent):
            base = read_pointer(self.folder)
            if base is not None:
                check_version(base)
                path = generation_path(self.folder, newest_number(self.folder) + 1)
                rewrite_generation(base, path, self.folder / SCRATCH, change)
                self._publish(path, _silent)
                for old in generation_files(self.folder).values():
                    if old != path:
                        remove(old)
                self._remove_leftovers(read_pointer(self.folder))

    def go_back(self, *, wait_seconds: float = WAIT_SECONDS) -> Generation:
        """Make the newest whole generation before the current one current; the next load starts from it.

        Raises
        ------
        StoreProblem
            When there is none, or another load runs.
        """
        with self._locked(wait_seconds, _silent):
            current = number_in_pointer(self.folder)
            for number, path in reversed(generation_files(self.folder).items()):
                if (current is None or number < current) and is_whole(path):
                    replace_pointer(self.folder, path, SCHEMA_VERSION)
                    made_at = datetime.fromtimestamp(path.stat().st_mtime)
                    return Generation(number, path, SCHEMA_VERSION, made_at)
        raise StoreProblem(
            f"{self.folder} holds no earlier whole generation to go back to. Load your files anew into "
            f"another folder, or restore a backup."
        )

    @contextmanager
    def _locked(self, wait_seconds: float, report: Progress) -> Iterator[None]:
        with self._problems(), loading_lock(self.folder, wait_seconds, lambda: report("waiting", 0.0)):
            yield

    @contextmanager
    def _problems(self) -> Iterator[None]:
        try:
            yield
        except (OSError, duckdb.Error) as error:
            if problem := store_problem(error, self.folder):
                raise problem from error
            raise

    def _draft(self, report: Progress) -> Iterator[Draft]:
        base = read_pointer(self.folder)
        if base is None:
            # An explicit "nothing yet": generations beside it are then leftovers of a killed first load,
            # while generations without any pointer are a store that lost it, and are not to be removed.
            replace_pointer(self.folder, None, SCHEMA_VERSION)
        else:
            check_version(base)
        number = newest_number(self.folder) + 1
        self._remove_leftovers(base)
        path = generation_path(self.folder, number)
        scratch = self.folder / SCRATCH
        scratch.mkdir()
        connection = None
        try:
            report("copying", 0.0)
            if base:
                copy(base.path, path)
            connection = open_for_writing(path, scratch, base)
            if not base:
                create_tables(connection)
            draft = Draft(connection, number, scratch, first=base is None)
            yield draft
            if not draft.abandoned:
                report("checkpoint", 0.0)
                queries.run(connection, "store/checkpoint")
                connection.close()
                self._publish(path, report)
        finally:
            if connection is not None:
                connection.close()
            remove(scratch)
            if number_in_pointer(self.folder) != number:
                remove(path)

    def _publish(self, path: Path, report: Progress) -> None:
        sync(path)
        if not is_whole(path):
            raise StoreProblem(
                f"{path} could not be read back after it was written. Nothing was changed; load again."
            )
        report("pointer", 0.0)
        replace_pointer(self.folder, path, SCHEMA_VERSION, before=lambda: report("pointer", 0.5))
        report("pointer", 1.0)
        self._prune()

    def _remove_leftovers(self, base: Generation | None) -> None:
        """Remove what killed loads and readers left; the lock is held, so nobody is at work on any of it."""
        for number, path in generation_files(self.folder).items():
            if base is None or number > base.number:
                remove(path)
        for scratch in (self.folder / SCRATCH, *self.folder.glob("reader-*.tmp")):
            if scratch.name == SCRATCH or not _runs(
                scratch.name.removeprefix("reader-").removesuffix(".tmp")
            ):
                remove(scratch)
        remove_coded(self.folder, kept=generation_files(self.folder))

    def _prune(self) -> None:
        kept_for_readers = generations_in_use()
        for path in list(generation_files(self.folder).values())[: -1 - KEPT_BEFORE_CURRENT]:
            if path not in kept_for_readers:
                remove(path)
        remove_coded(self.folder, kept=generation_files(self.folder))


def _silent(stage: str, share: float) -> None:
    """Report nothing."""


def _runs(process: str) -> bool:
    return Path("/proc", process).exists()
