"""Recent months, as far as their calls have been followed: the rate they are on the way to."""

import duckdb
import polars as pl

from analytics.questions.ringing_again import wait_counts, wait_curve
from analytics.questions.selecting import Selection

LEAST_FOLLOWED = 5
"""Calls of a month followed through the window, below which nothing is known yet (our convention)."""
SCHEMA = {
    "month": pl.Date,
    "estimate": pl.Float64,
    "estimate_low": pl.Float64,
    "estimate_high": pl.Float64,
    "followed": pl.Int64,
}


def first_young(months: pl.DataFrame) -> pl.DataFrame:
    """Return the months of a frame as from `Fleet.by_month` in which some calls are too young to judge."""
    return months.filter(pl.col("inside_window") > 0)


def month_estimates(
    cursor: duckdb.DuckDBPyConnection, recent: Selection, months: list[str], effect: float
) -> pl.DataFrame:
    """Estimate the callback rate of months from the curve of days until they ring again.

    Parameters
    ----------
    cursor : duckdb.DuckDBPyConnection
    recent : Selection
        Calls that hold those months.
    months : list of str
        First days of the months that are wanted, ISO.
    effect : float
        Design effect of units: the factor of the variance.

    Returns
    -------
    DataFrame
        Columns month (date), estimate, estimate_low, estimate_high (0..1; null: not yet known, as too few
        calls were followed through the window) and followed (calls it is made from).
    """
    if not months:
        return pl.DataFrame(schema=SCHEMA)
    window = recent.filters.window_days
    counts = wait_counts(cursor, recent, "month").filter(~pl.col("is_rest"))
    rows = []
    for (code,), ended in counts.partition_by("group_code", maintain_order=True, as_dict=True).items():
        if code is None or code[:10] not in months:
            continue
        curve = wait_curve(ended, code, code, window, effect, LEAST_FOLLOWED)
        share = curve.marks.filter(pl.col("days") == window).select("share", "low", "high").row(0)
        rows.append((code[:10], *share, curve.calls))
    frame = pl.DataFrame(rows, schema=SCHEMA | {"month": pl.String}, orient="row")
    return frame.with_columns(pl.col("month").str.to_date("%Y-%m-%d"))
