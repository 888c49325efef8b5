"""Which rows that were set aside a file brings mended: those that its first two columns name."""

import csv
from pathlib import Path

import duckdb
import polars as pl

from analytics import queries
from analytics.intake.contract import IGNORED_HEADERS


def note(connection: duckdb.DuckDBPyConnection, path: Path, encoding: str, file_id: int) -> None:
    """Note which rows a file brought mended, where it holds rows that were set aside.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        On a draft, the file being loaded.
    path : Path
    encoding : str
        Of the file.
    file_id : int
        Its number.
    """
    file_header, line_header = IGNORED_HEADERS[:2]
    with path.open(encoding=encoding, errors="replace", newline="") as lines:
        first = lines.readline().replace('"', "")
        separator = next((each for each in ",;\t|" if f"{file_header}{each}{line_header}" in first), None)
        if separator is None:
            return
        rows = [row[:2] for row in csv.reader(lines, delimiter=separator)]
    keys = [(int(row[0]), int(row[1])) for row in rows if len(row) == 2 and all(map(str.isdecimal, row))]
    mended = pl.DataFrame(keys, schema={"file_id": pl.Int64, "line": pl.Int64}, orient="row")
    connection.register("mended_rows", mended)
    queries.run(connection, "staging/mended", {"mended_by": file_id})
    connection.unregister("mended_rows")
