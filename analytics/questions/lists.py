"""Lists of calls and of returns, a page at a time; the database sorts, and only the page leaves it."""

from typing import Any

import duckdb
import polars as pl

from analytics import queries
from analytics.errors import BadQuestion
from analytics.questions.selecting import Selection
from analytics.questions.subsets import checked_subset

SORTS = (
    "closed_at",
    "opened_at",
    "call_id",
    "unit_id",
    "technician",
    "depot",
    "cause",
    "outcome",
    "product_family",
    "standing",
    "job_kind",
    "visits",
    "filter_age_days",
    "days_until_return",
    "closing_lag_days",
)
"""Columns that `Fleet.calls` can be sorted by."""

RETURN_SORTS = (
    "return_opened_at",
    "closed_at",
    "days_between",
    "call_id",
    "unit_id",
    "depot",
    "technician",
    "cause",
    "return_technician",
    "return_cause",
)
"""Columns that `Fleet.returns` can be sorted by."""

LARGEST_PAGE = 10_000


def calls(
    cursor: duckdb.DuckDBPyConnection,
    chosen: Selection,
    subset: str,
    offset: int,
    limit: int,
    sort: str,
    descending: bool,
    rows: list[int] | None = None,
) -> tuple[pl.DataFrame, int]:
    """Answer `Fleet.calls`; `rows` of marts.calls are the subset where a statement can not tell it."""
    values = (
        chosen.values | {"subset": checked_subset(subset)} | _page(offset, limit, sort, descending, SORTS)
    )
    if rows is not None:
        values |= {"subset": "all", "of_rows": True, "rows": rows}
        return queries.frame(cursor, "lists/calls", values), len(rows)
    values |= {"of_rows": False, "rows": []}
    total = queries.frame(cursor, "lists/calls_total", values).item()
    return queries.frame(cursor, "lists/calls", values), total


def returns(
    cursor: duckdb.DuckDBPyConnection, chosen: Selection, offset: int, limit: int, sort: str, descending: bool
) -> tuple[pl.DataFrame, int]:
    """Answer `Fleet.returns`."""
    values = chosen.values | _page(offset, limit, sort, descending, RETURN_SORTS)
    page = queries.frame(cursor, "lists/returns", values)
    beyond = page.is_empty()  # a page beyond the last one knows no total
    total = queries.frame(cursor, "lists/returns_total", values).item() if beyond else page["total"][0]
    return page.drop("total"), total


def _page(offset: int, limit: int, sort: str, descending: bool, sorts: tuple[str, ...]) -> dict[str, Any]:
    if sort not in sorts:
        raise BadQuestion(f"The list can not be sorted by '{sort}'. Choose one of {', '.join(sorts)}.")
    if offset < 0 or not 0 <= limit <= LARGEST_PAGE:
        raise BadQuestion(
            f"A page of {limit} rows from row {offset} can not be shown. Ask for at most {LARGEST_PAGE:,} "
            "rows, from row 0 on."
        )
    return {"offset": offset, "limit": limit, "sort": sort, "descending": descending}
