"""The counts that the headline, its course by month and what spoils it share: one look at the calls."""

import duckdb
import polars as pl

from analytics import queries
from analytics.questions.selecting import Selection


def counts_by_month(cursor: duckdb.DuckDBPyConnection, chosen: Selection) -> pl.DataFrame:
    """Count the calls chosen, by month of closing; columns as in sql/metrics/figures.sql."""
    return queries.frame(cursor, "metrics/figures", chosen.values)


def totals(by_month: pl.DataFrame) -> dict[str, int]:
    """Return the counts over all months."""
    return by_month.select(pl.exclude("closed_month").sum()).row(0, named=True)
