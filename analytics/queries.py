"""Reads, checks and runs the statements in sql/; values are only ever bound, never formatted in."""

import re
import warnings
from collections.abc import Iterator, Mapping
from functools import cache
from importlib import resources
from typing import Any

import duckdb
import polars as pl

warnings.filterwarnings("ignore", message="Arrow output on a DB-API result", category=UserWarning)

_PARAMETER = re.compile(r"\$([a-z_][a-z0-9_]*)")
_COMMENT_OR_TEXT = re.compile(r"--[^\n]*|'(?:[^']|'')*'")


@cache
def statement(name: str) -> str:
    """Return the text of one SQL file.

    Parameters
    ----------
    name : str
        Path below sql/ without ending, such as "metrics/callback_counts".

    Raises
    ------
    FileNotFoundError
        When there is no such file.
    """
    return resources.files("sql").joinpath(f"{name}.sql").read_text(encoding="utf-8")


@cache
def parameters(name: str) -> frozenset[str]:
    """Names of the parameters that the SQL file binds."""
    return frozenset(_PARAMETER.findall(_COMMENT_OR_TEXT.sub("", statement(name))))


def _bound(name: str, values: Mapping[str, Any]) -> dict[str, Any]:
    wanted = parameters(name)
    if missing := sorted(wanted - values.keys()):
        raise KeyError(f"sql/{name}.sql binds {', '.join('$' + m for m in missing)}, and no value was given.")
    return {key: values[key] for key in wanted}


def run(connection: duckdb.DuckDBPyConnection, name: str, values: Mapping[str, Any] | None = None) -> None:
    """Run the statements of one SQL file; each statement gets the values it binds.

    Raises
    ------
    KeyError
        When the file binds a parameter for which no value was given.
    """
    values = values or {}
    bound = _bound(name, values)
    for part in duckdb.extract_statements(statement(name)):
        wanted = part.named_parameters
        connection.execute(part, {key: bound[key] for key in wanted} or None)


def frame(
    connection: duckdb.DuckDBPyConnection, name: str, values: Mapping[str, Any] | None = None
) -> pl.DataFrame:
    """Run one SQL query and return its rows as a Polars frame.

    Raises
    ------
    KeyError
        When the file binds a parameter for which no value was given.
    """
    # Through execute and not through a relation, which would plan the query twice; it copies only few rows.
    result = connection.execute(statement(name), _bound(name, values or {}) or None)
    return pl.DataFrame(result.to_arrow_table())


def batches(
    connection: duckdb.DuckDBPyConnection,
    name: str,
    values: Mapping[str, Any] | None = None,
    rows: int = 50_000,
) -> Iterator[pl.DataFrame]:
    """Run one SQL query and yield its rows piece by piece, for answers that would take much memory whole.

    Parameters
    ----------
    rows : int
        Rows of a piece at most.

    Raises
    ------
    KeyError
        When the file binds a parameter for which no value was given.
    """
    result = connection.execute(statement(name), _bound(name, values or {}) or None)
    yield from (pl.DataFrame(batch) for batch in result.to_arrow_reader(rows) or ())
