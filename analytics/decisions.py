"""What people decide: one small SQLite file beside the generations; loads, undoing and pruning leave it.

Decisions are added and never changed: the latest one on a thing counts, and an empty one takes back what was
said before. So two people who write at the same time lose nothing, and neither does a later change of mind.
"""

import json
import sqlite3
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import polars as pl

from analytics import queries
from analytics.decision_problems import decision_problem
from analytics.errors import BadQuestion, StoreProblem

FILE = "decisions.sqlite"
VERSION = 1
WAIT_SECONDS = 5.0
MATTERS = ("reviewed", "sorted", "remark", "lesson")
KINDS = ("return", "third_trip", "open_call", "no_proof", "group", "lesson")
MOST_CHARACTERS = {"key": 200, "value": 2000, "note": 2000, "who": 100}
SCHEMA: dict[str, pl.DataType | type[pl.DataType]] = {
    "key": pl.String,
    "matter": pl.String,
    "value": pl.String,
    "note": pl.String,
    "who": pl.String,
    "made_at": pl.Datetime("us"),
}


@dataclass(frozen=True)
class Decision:
    """What somebody decided about one thing.

    Parameters
    ----------
    matter : str
        One of `MATTERS`.
    kind : str
        What it is about, one of `KINDS`.
    key : str
        Number of the call; of a group its field, name and week; of a lesson its day and cause.
    value : str
        reviewed: "yes"; sorted: the code; remark: the technician's own words; lesson: who attended. "" takes
        back what was said.
    note, who : str
        Free text; may be blank.

    Raises
    ------
    BadQuestion
        When there is no such matter or kind, the key is blank, or a text is too long.
    """

    matter: str
    kind: str
    key: str
    value: str
    note: str = ""
    who: str = ""

    def __post_init__(self) -> None:
        for name, legal in (("matter", MATTERS), ("kind", KINDS)):
            if getattr(self, name) not in legal:
                raise BadQuestion(f"'{getattr(self, name)}' is no {name}. Choose one of {', '.join(legal)}.")
        if not self.key:
            raise BadQuestion("A decision must name what it is about, such as the number of a call.")
        for name, most in MOST_CHARACTERS.items():
            text = _clean(getattr(self, name))
            if len(text) > most:
                raise BadQuestion(f"The {name} has {len(text):,} characters; at most {most:,} are kept.")
            object.__setattr__(self, name, text)


def _clean(text: str) -> str:
    """Strip a text, and leave out control characters that no keyboard types."""
    return "".join(c for c in text.replace("\r\n", "\n") if c.isprintable() or c in "\n\t").strip()


class Decisions:
    """The decisions kept in one folder.

    Parameters
    ----------
    folder : Path
        The folder of the store. The first decision makes the file; until then there are none.
    now : callable
        Gives the time of a decision, UTC.
    """

    def __init__(self, folder: Path, now: Callable[[], datetime] = lambda: datetime.now(UTC)) -> None:
        self.path = Path(folder) / FILE
        self._now = now

    def add(self, made: Sequence[Decision]) -> None:
        """Keep decisions, all of them or, whatever happens, none.

        Raises
        ------
        StoreProblem
            When the file can not be written, is busy, damaged or of another version.
        """
        with self._open("rwc") as connection:
            self._prepare(connection)
            with _transaction(connection):
                self._write(connection, made)

    def _write(self, connection: sqlite3.Connection, made: Sequence[Decision]) -> None:
        made_at = self._now().astimezone(UTC).replace(tzinfo=None).isoformat(timespec="seconds")
        for each in made:
            connection.execute(queries.statement("decisions/add"), asdict(each) | {"made_at": made_at})

    def current(self, kind: str, keys: Sequence[str]) -> pl.DataFrame:
        """Return what holds now for some things of one kind.

        Parameters
        ----------
        kind : str
            One of `KINDS`.
        keys : sequence of str
            As in `Decision.key`.

        Returns
        -------
        pl.DataFrame
            Columns key, matter, value, note, who, made_at (UTC); one row a thing and matter decided.

        Raises
        ------
        StoreProblem
            When the file can not be read, is damaged or of another version.
        """
        if not keys or not self.path.exists():
            return pl.DataFrame(schema=SCHEMA)
        with self._open("ro") as connection:
            self._check_version(connection)
            values = {"kind": kind, "keys": json.dumps(list(keys))}
            rows = connection.execute(queries.statement("decisions/current"), values).fetchall()
        return _frame(rows, SCHEMA)

    def history(self, kind: str) -> pl.DataFrame:
        """Return all that was ever decided about things of one kind, the first decision first.

        Parameters
        ----------
        kind : str
            One of `KINDS`.

        Returns
        -------
        pl.DataFrame
            Columns number, key, matter, value ("" takes back), note, who, made_at (UTC).

        Raises
        ------
        StoreProblem
            As `current`.
        """
        schema = {"number": pl.Int64, **SCHEMA}
        if not self.path.exists():
            return pl.DataFrame(schema=schema)
        with self._open("ro") as connection:
            self._check_version(connection)
            rows = connection.execute(queries.statement("decisions/history"), {"kind": kind}).fetchall()
        return _frame(rows, schema)

    @contextmanager
    def _open(self, mode: str) -> Iterator[sqlite3.Connection]:
        connection = None
        try:
            connection = connect(self.path, mode)
            yield connection
        except sqlite3.Error as error:
            raise decision_problem(error, self.path) from error
        finally:
            if connection is not None:
                connection.close()

    def _prepare(self, connection: sqlite3.Connection) -> None:
        """Make the tables where they are missing; nothing is made in a file of another version."""
        if _is_made(connection):
            self._check_version(connection)
            return
        _use_wal(connection)
        with _transaction(connection):
            for name in ("decisions/make_about", "decisions/make_decisions", "decisions/make_index"):
                connection.execute(queries.statement(name))
            connection.execute(queries.statement("decisions/set_version"), {"version": VERSION})
        self._check_version(connection)

    def _check_version(self, connection: sqlite3.Connection) -> None:
        if not _is_made(connection):
            return
        found = connection.execute(queries.statement("decisions/version")).fetchone()
        if found is None or found[0] != VERSION:
            raise StoreProblem(
                f"{self.path} is of version {found and found[0]}; this program keeps decisions in version "
                f"{VERSION}. Nothing was changed. Use the program that wrote it, or move the file away to "
                "begin anew."
            )


def _frame(rows: list[tuple[Any, ...]], schema: dict[str, Any]) -> pl.DataFrame:
    frame = pl.DataFrame(rows, schema=schema | {"made_at": pl.String}, orient="row")
    return frame.with_columns(pl.col("made_at").str.to_datetime("%Y-%m-%dT%H:%M:%S", time_unit="us"))


def _is_made(connection: sqlite3.Connection) -> bool:
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
        _is_made(connection)
    except sqlite3.OperationalError:
        connection.close()
        if _has_log(path):
            raise
        connection = sqlite3.connect(uri + "&immutable=1", uri=True, isolation_level=None)
    return connection


def _has_log(path: Path) -> bool:
    log = path.with_name(path.name + "-wal")
    return log.exists() and log.stat().st_size > 0


def _use_wal(connection: sqlite3.Connection) -> None:
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


@contextmanager
def _transaction(connection: sqlite3.Connection) -> Iterator[None]:
    connection.execute(queries.statement("decisions/begin"))
    try:
        yield
    except BaseException:
        connection.rollback()
        raise
    connection.commit()
