"""The counts that the headline, its course by month and what spoils it share: one look at the calls."""

from dataclasses import dataclass

import duckdb
import polars as pl

from analytics import queries
from analytics.questions.selecting import Selection


@dataclass(frozen=True)
class Counts:
    """Counts of the calls chosen; columns as in sql/metrics/figures.sql.

    Parameters
    ----------
    by_month : DataFrame
        One row a month of closing; null: not closed.
    by_state : dict of str to int
        Calls by how they stand.
    """

    by_month: pl.DataFrame
    by_state: dict[str, int]

    @property
    def totals(self) -> dict[str, int]:
        """The counts over all months."""
        return self.by_month.select(pl.exclude("closed_month").sum()).row(0, named=True)


def counts(cursor: duckdb.DuckDBPyConnection, chosen: Selection) -> Counts:
    """Count the calls chosen."""
    rows = queries.frame(cursor, "metrics/figures", chosen.values)
    states = rows.group_by("state").agg(pl.col("calls").sum())
    return Counts(
        rows.group_by("closed_month").agg(pl.exclude("state").sum()),
        dict(states.iter_rows()),
    )
