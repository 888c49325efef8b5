"""What was loaded, what was set aside, and what was not recognised."""

import duckdb
import polars as pl

from analytics import queries


def loads(cursor: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Answer `Fleet.loads`."""
    return queries.frame(cursor, "lists/loads")


def files(cursor: duckdb.DuckDBPyConnection, load_id: int | None) -> pl.DataFrame:
    """Answer `Fleet.files`."""
    return queries.frame(cursor, "lists/files", {"load_id": load_id})


def set_aside(
    cursor: duckdb.DuckDBPyConnection, file_id: int | None, offset: int, limit: int, reason: str | None
) -> tuple[pl.DataFrame, int]:
    """Answer `Fleet.set_aside`."""
    values = {"file_id": file_id, "offset": offset, "limit": limit, "reason": reason}
    total = queries.frame(cursor, "lists/set_aside_total", values).item()
    return queries.frame(cursor, "lists/set_aside", values), total


def set_aside_reasons(cursor: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Answer `Fleet.set_aside_reasons`."""
    return queries.frame(cursor, "lists/set_aside_reasons")


def taken_back(cursor: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Answer `Fleet.taken_back`."""
    return queries.frame(cursor, "lists/taken_back")


def unrecognised(
    cursor: duckdb.DuckDBPyConnection, field: str | None, offset: int, limit: int
) -> tuple[pl.DataFrame, int]:
    """Answer `Fleet.unrecognised`."""
    values = {"field": field, "offset": offset, "limit": limit}
    total = queries.frame(cursor, "lists/unrecognised_total", values).item()
    return queries.frame(cursor, "lists/unrecognised", values), total


def choices(cursor: duckdb.DuckDBPyConnection) -> dict[str, pl.DataFrame]:
    """Answer `Fleet.choices`."""
    rows = queries.frame(cursor, "lists/choices")
    fields = ("depots", "families", "symptoms", "causes", "technicians", "product_families", "parts")
    by_field = {field: rows.filter(pl.col("field") == field).drop("field") for field in fields}
    return by_field | {"closed": queries.frame(cursor, "lists/closed_between")}
