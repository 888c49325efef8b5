"""Filters past six months now, ranked by the failures to be expected of their units soon."""

import duckdb
import numpy as np
import polars as pl
from numpy.typing import ArrayLike, NDArray

from analytics import queries
from analytics.errors import BadQuestion
from analytics.questions.filter_adjusting import LEVEL

OVERDUE_DAYS = 183
"""Six months of 30.4375 days, in whole days: common practice, no source; the maker's sheet comes first."""
AHEAD_DAYS = 90
_LAST_DAYS = (14, 91, 182, 273, 365, 547)
"""Last day of the first two weeks and of each band but the oldest, as in metrics/filter_months."""
LARGEST_PAGE = 10_000
UNIT_AGES = (
    ("0 to 1", 366), ("1 to 3", 1096), ("3 to 6", 2192), ("6 to 9", 3288), ("9 and more", 10**6),
)  # fmt: skip
"""Ages of units and the day below which they end, as in metrics/filter_months."""
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


def overdue_filters(
    cursor: duckdb.DuckDBPyConnection, rates: pl.Series, factors: pl.DataFrame | None = None
) -> pl.DataFrame:
    """Return the units overdue, most failures expected first.

    Parameters
    ----------
    cursor : DuckDBPyConnection
        On which metrics/filter_time was run.
    rates : Series
        As in `expected_failures`; any null: none is known, and the oldest filters come first.
    factors : DataFrame, optional
        How much more often units of a kind fail, see `filter_adjusting.kind_factors`.
    """
    rows = queries.frame(cursor, "lists/overdue_filters", {"past_days": OVERDUE_DAYS})
    known = not rates.is_null().any()
    expected = [None] * rows.height if not known else expected_failures(rows["age_days"], rates)
    if known and factors is not None:
        expected = expected * of_its_kind(rows, factors)
    return (
        rows.with_columns(pl.Series("expected", expected, dtype=pl.Float64))
        .sort("expected", "age_days", "unit_id", descending=[True, True, False], nulls_last=True)
        .with_columns(age_months=pl.col("age_days") / _DAYS_A_MONTH)
    )


def of_its_kind(rows: pl.DataFrame, factors: pl.DataFrame) -> NDArray[np.float64]:
    """Return how much more often than the average each unit is to be expected to fail, by its kind.

    Parameters
    ----------
    rows : DataFrame
        Columns product_family, water_supply, shutoff_valve, unit_age_days.
    factors : DataFrame
        As from `filter_adjusting.kind_factors`.
    """
    labels = [name for name, _ in UNIT_AGES]
    edges = [below for _, below in UNIT_AGES[:-1]]
    at = np.searchsorted(edges, rows["unit_age_days"].fill_null(-1).to_numpy(), side="right")
    aged = pl.Series([labels[each] for each in at], dtype=pl.String)
    kinds = rows.with_columns(unit_age=pl.when(pl.col("unit_age_days").is_not_null()).then(aged))
    product = np.ones(rows.height)
    for by, group, factor in factors.iter_rows():
        if by == LEVEL:
            product *= factor
        else:
            same = kinds.select(pl.col(by).eq_missing(pl.lit(group))).to_series()
            product *= np.where(same.to_numpy(), factor, 1.0)
    return product


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
