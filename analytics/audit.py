"""Who did what, and when: a line an event, kept beside the decisions; never a password, token or note."""

import getpass
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import polars as pl

from analytics import queries
from analytics.audit_lines import is_made, make, write
from analytics.decisions import Decisions

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
            One of `analytics.audit_lines.EVENTS`.
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
