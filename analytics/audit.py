"""Who did what, and when: a line an event, kept beside the decisions; never a password, token or note."""

import getpass
import sqlite3
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import polars as pl

from analytics import queries
from analytics.decisions import Decisions

EVENTS = (
    "signed in",
    "sign-in refused",
    "signed out",
    "account added",
    "role changed",
    "password changed",
    "account removed",
    "loaded",
    "went back",
    "settled",
    "decided",
    "forgot",
    "setting changed",
)
"""Kinds of events; what is not one of them can not be written."""

MOST_CHARACTERS = 300
NEWEST = 2**62
SCHEMA: dict[str, pl.DataType | type[pl.DataType]] = {
    "number": pl.Int64,
    "at": pl.String,
    "who": pl.String,
    "what": pl.String,
    "about": pl.String,
}


def command_line() -> str:
    """Return who works at the terminal."""
    try:
        return f"command line ({getpass.getuser()})"
    except (KeyError, OSError):
        return "command line"


class Audit:
    """The events of one store.

    Parameters
    ----------
    folder : Path
        The folder of the store.
    now : callable
        Gives the time of an event, UTC.
    """

    def __init__(self, folder: Path, now: Callable[[], datetime] = lambda: datetime.now(UTC)) -> None:
        self._file = Decisions(folder, now)
        self._now = now

    def note(self, who: str, what: str, about: str = "") -> None:
        """Keep one event.

        Parameters
        ----------
        who : str
            An account, or `command_line`.
        what : str
            One of `EVENTS`.
        about : str
            A few words; cut to 300 characters.

        Raises
        ------
        StoreProblem
            When it can not be written.
        """
        with self._file.writing() as connection:
            make(connection)
            write(connection, self._now(), who, what, about)

    def events(self, before: int = NEWEST, most: int = 100) -> pl.DataFrame:
        """Return events, latest first.

        Parameters
        ----------
        before : int
            Only those with a lower number.
        most : int
            How many at most.

        Returns
        -------
        pl.DataFrame
            Columns number, at (UTC), who, what, about.

        Raises
        ------
        StoreProblem
            When the file can not be read.
        """
        with self._file.reading() as connection:
            if connection is None or not is_made(connection):
                return pl.DataFrame(schema=SCHEMA)
            values = {"before": before, "most": most}
            rows = connection.execute(queries.statement("access/audit"), values).fetchall()
        return pl.DataFrame(rows, schema=SCHEMA, orient="row")


def write(connection: sqlite3.Connection, at: datetime, who: str, what: str, about: str = "") -> None:
    """Add one event within a transaction of somebody else.

    Raises
    ------
    ValueError
        When there is no such kind of event.
    """
    if what not in EVENTS:
        raise ValueError(f"{what!r} is no kind of event")
    values = {
        "at": at.astimezone(UTC).replace(tzinfo=None).isoformat(sep=" ", timespec="seconds"),
        "who": _one_line(who),
        "what": what,
        "about": _one_line(about),
    }
    connection.execute(queries.statement("access/add_audit"), values)


def make(connection: sqlite3.Connection) -> None:
    """Make the tables of accounts, sessions and events where they are missing."""
    for name in ("make_users", "make_sessions", "make_attempts", "make_audit"):
        connection.execute(queries.statement(f"access/{name}"))


def is_made(connection: sqlite3.Connection) -> bool:
    """Say whether the tables of accounts, sessions and events are there."""
    return connection.execute(queries.statement("access/is_made")).fetchone()[0] > 0


def _one_line(text: str) -> str:
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())[:MOST_CHARACTERS]
