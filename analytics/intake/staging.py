"""The records of one file, typed and judged in the temporary table `staged`."""

from datetime import datetime
from typing import Any

import duckdb

from analytics import queries
from analytics.intake.reading import Reading


def prepare(connection: duckdb.DuckDBPyConnection) -> None:
    """Make the macros that the staging statements use."""
    queries.run(connection, "staging/macros")


def stage(connection: duckdb.DuckDBPyConnection, reading: Reading) -> None:
    """Read the file into `staged`.

    Raises
    ------
    duckdb.Error
        When a record is not as wide as the header, or otherwise malformed.
    """
    queries.run(connection, f"staging/{reading.table.name}", reading.values())


def moments(connection: duckdb.DuckDBPyConnection) -> tuple[int, list[datetime]]:
    """Count the dated rows of `staged`, and find its two latest moments, latest first."""
    row = queries.frame(connection, "staging/file_moments").row(0)
    return row[0], row[1] or []


def judge(connection: duckdb.DuckDBPyConnection, values: dict[str, Any]) -> dict[str, int]:
    """Compare `staged` with itself and with the store; return the number of rows by verdict."""
    queries.run(connection, "staging/known", values)
    queries.run(connection, "staging/verdicts", values)
    return dict(queries.frame(connection, "staging/tally").rows())
