"""Judging staged rows against each other, against the store, and against the clock."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

import duckdb

from analytics import queries
from analytics.catalogues.units_of_measure import read_units, spelling_key

FAR_AFTER = timedelta(days=14)
ENOUGH_DATED_ROWS = 20
"""Below this many dated rows of a source, its last call can not be told from a mistyped one."""

NOT_SET_ASIDE = ("new", "updated", "repeated_exact", "repeated_older")


@dataclass(frozen=True)
class Judged:
    """Number of rows by what becomes of them.

    Parameters
    ----------
    verdicts : dict of str to int
        Of rows without a reason of their own: new, updated, repeated_exact, repeated_older, or the code of a
        reason.
    reasons : dict of str to int
        Rows set aside for their own content, by first reason.
    """

    verdicts: dict[str, int]
    reasons: dict[str, int]

    @property
    def set_aside(self) -> dict[str, int]:
        """Rows set aside, by first reason."""
        counts = dict(self.reasons)
        for code, rows in self.verdicts.items():
            if code not in NOT_SET_ASIDE:
                counts[code] = counts.get(code, 0) + rows
        return counts


def begin(connection: duckdb.DuckDBPyConnection) -> None:
    """Forget what was judged of another file."""
    queries.run(connection, "staging/doubtful")


def unknown_units(connection: duckdb.DuckDBPyConnection) -> None:
    """Set staged checks aside whose unit of measure is not known."""
    known = {spelling for unit in read_units().values() for spelling in unit.spellings}
    written = queries.frame(connection, "staging/reading_units")["reading_unit"]
    if unknown := [each for each in written if spelling_key(each) not in known]:
        queries.run(connection, "staging/unknown_units", {"unknown_units": unknown})


def latest(connection: duckdb.DuckDBPyConnection) -> datetime | None:
    """Latest moment of the staged rows that can be loaded."""
    moments = _moments(connection)[1]
    return moments[0] if moments else None


def far_after_others(connection: duckdb.DuckDBPyConnection, table: str, source: str) -> None:
    """Set staged calls or visits aside that lie more than 14 days after everything else of their source."""
    if table not in ("calls", "visits"):
        return
    known = queries.frame(connection, "staging/source_moments", {"source": source}).row(0, named=True)
    while True:
        rows, moments = _moments(connection)
        if rows + known["dated_rows"] < ENOUGH_DATED_ROWS or not moments:
            return
        others = [each for each in (*moments[1:], known["latest_at"]) if each]
        if not others or moments[0] <= max(others) + FAR_AFTER:
            return
        queries.run(connection, f"staging/far_after_{table}", {"far_moment": moments[0]})


def judge(connection: duckdb.DuckDBPyConnection, values: dict[str, Any]) -> Judged:
    """Compare the staged rows with each other and with the store, and keep those that are set aside."""
    queries.run(connection, "staging/known", values)
    queries.run(connection, "staging/verdicts", values)
    judged = Judged(
        verdicts=dict(queries.frame(connection, "staging/tally").rows()),
        reasons=dict(queries.frame(connection, "staging/tally_reasons").rows()),
    )
    if judged.set_aside:
        queries.run(connection, "staging/set_aside_fields", values)
        queries.run(connection, "staging/set_aside", values)
    return judged


def _moments(connection: duckdb.DuckDBPyConnection) -> tuple[int, list[datetime]]:
    row = queries.frame(connection, "staging/file_moments").row(0)
    return row[0], row[1] or []
