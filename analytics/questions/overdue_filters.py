"""Filters past six months now, ranked by the failures to be expected of their units soon."""

import duckdb
import numpy as np
import polars as pl
from numpy.typing import ArrayLike, NDArray

from analytics import queries
from analytics.errors import BadQuestion

OVERDUE_DAYS = 183
"""Six months of 30.4375 days, in whole days: common practice, no source; the maker's sheet comes first."""
AHEAD_DAYS = 90
_LAST_DAYS = (14, 91, 182, 273, 365, 547)
"""Last day of the first two weeks and of each band but the oldest, as in metrics/filter_months."""
LARGEST_PAGE = 10_000
_DAYS_A_MONTH = 30.4375


def expected_failures(
    age_days: ArrayLike, rates: ArrayLike, ahead_days: int = AHEAD_DAYS
) -> NDArray[np.float64]:
    """Return the failures to be expected of units in the days ahead, if no filter is changed.

    Parameters
    ----------
    age_days : array-like of int, shape (n,)
        Age of the filter today.
    rates : array-like of float, shape (7,)
        Failures per 1,000 unit-months: first two weeks, then the bands, youngest first.
    ahead_days : int
        Days ahead, each at the rate of the band that the filter is in by then.

    Examples
    --------
    >>> expected_failures([183, 260], [0, 0, 0, 30.4375, 60.875, 0, 0]).round(3).tolist()
    [0.09, 0.167]
    """
    a_day = np.asarray(rates, dtype=float) / 1000 / _DAYS_A_MONTH
    ends = np.array([0, *_LAST_DAYS, 10**7], dtype=float)
    summed = np.concatenate([[0.0], np.cumsum(np.diff(ends) * a_day)])
    age = np.asarray(age_days, dtype=float)
    found: NDArray[np.float64] = np.interp(age + ahead_days, ends, summed) - np.interp(age, ends, summed)
    return found


def overdue_filters(cursor: duckdb.DuckDBPyConnection, rates: pl.Series) -> pl.DataFrame:
    """Return the units overdue, most failures expected first.

    Parameters
    ----------
    cursor : DuckDBPyConnection
        On which metrics/filter_time was run.
    rates : Series
        As in `expected_failures`; any null: none is known, and the oldest filters come first.
    """
    rows = queries.frame(cursor, "lists/overdue_filters", {"past_days": OVERDUE_DAYS})
    known = not rates.is_null().any()
    expected = expected_failures(rows["age_days"], rates) if known else [None] * rows.height
    return (
        rows.with_columns(pl.Series("expected", expected, dtype=pl.Float64))
        .sort("expected", "age_days", "unit_id", descending=[True, True, False], nulls_last=True)
        .with_columns(age_months=pl.col("age_days") / _DAYS_A_MONTH)
    )


def page_of(overdue: pl.DataFrame, depot: str | None, offset: int, limit: int) -> tuple[pl.DataFrame, int]:
    """Return a page of the list, of one depot or all, and how many there are."""
    if offset < 0 or not 0 <= limit <= LARGEST_PAGE:
        raise BadQuestion(
            f"A page of {limit} rows from row {offset} can not be shown. Ask for at most {LARGEST_PAGE:,} "
            "rows, from row 0 on."
        )
    chosen = overdue if depot is None else overdue.filter(pl.col("depot") == depot)
    return chosen.slice(offset, limit), chosen.height


def by_depot(overdue: pl.DataFrame) -> pl.DataFrame:
    """Return how many are overdue by depot, most first."""
    return (
        overdue.group_by("depot")
        .agg(pl.len().alias("units"), pl.col("expected").sum(), pl.col("age_months").median())
        .sort("units", "depot", descending=[True, False])
    )
