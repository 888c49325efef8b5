"""Callback rate by month or week of closing, with control limits."""

import polars as pl

from analytics.statistics.control import one_sided_runs, p_chart
from analytics.statistics.intervals import wilson

LEAST_EXPECTED = 5
"""Returns usual in a period that takes part in a run: of fewer, most periods lie below the mean by rule."""


def by_month(counts: pl.DataFrame, match: str) -> pl.DataFrame:
    """Answer `Fleet.by_month` from the counts by month."""
    numerator = "came_back_family" if match == "family" else "came_back_any"
    return with_limits(
        counts.filter(pl.col("closed_month").is_not_null()).select(
            pl.col("closed_month").str.to_date("%Y-%m-%d").alias("month"),
            pl.col(numerator).alias("numerator"),
            pl.col("judged").alias("denominator"),
            pl.col("young").alias("inside_window"),
        ),
        "month",
    )


def by_period(days: pl.DataFrame, period: str) -> pl.DataFrame:
    """Return rates by month or week, named so in the first column, from the rows of metrics/by_day."""
    counts = days.group_by(pl.col("day").dt.truncate({"month": "1mo", "week": "1w"}[period]).alias(period))
    return with_limits(
        counts.agg(
            pl.col("came_back").sum().alias("numerator"),
            pl.col("judged").sum().alias("denominator"),
            pl.col("young").sum().alias("inside_window"),
        ),
        period,
    )


def with_limits(counts: pl.DataFrame, period: str) -> pl.DataFrame:
    """Return rates with intervals, limits and run rules.

    Parameters
    ----------
    counts : DataFrame
        The period (date of its first day), numerator, denominator, inside_window; in any order.
    period : str
        Name of the column of the period.
    """
    months = counts.filter(pl.col("denominator") + pl.col("inside_window") > 0).sort(period)
    low, high = wilson(months["numerator"], months["denominator"])
    mean, limit_low, limit_high = p_chart(months["numerator"], months["denominator"])
    rate = pl.when(pl.col("denominator") > 0).then(pl.col("numerator") / pl.col("denominator"))
    beyond = (pl.col("rate") < pl.col("limit_low")) | (pl.col("rate") > pl.col("limit_high"))
    settled = pl.col("inside_window") == 0
    found = months.select(
        period,
        "numerator",
        "denominator",
        rate.alias("rate"),
        pl.Series("low", low).fill_nan(None),
        pl.Series("high", high).fill_nan(None),
        "inside_window",
        pl.Series("limit_low", limit_low).fill_nan(None),
        pl.Series("limit_high", limit_high).fill_nan(None),
        pl.lit(mean).fill_nan(None).alias("mean"),
    ).with_columns(pl.when(settled).then(beyond).alias("outside"))
    plenty = settled & (pl.col("denominator") * pl.col("mean") >= LEAST_EXPECTED)
    judged = found.select(pl.when(plenty).then("rate")).to_series().to_numpy()
    return found.with_columns(
        pl.when(settled & pl.col("rate").is_not_null())
        .then(pl.Series(one_sided_runs(judged, mean)))
        .alias("in_run")
    )
