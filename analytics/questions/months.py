"""Callback rate by month of closing, with control limits."""

import polars as pl

from analytics.statistics.control import one_sided_runs, p_chart
from analytics.statistics.intervals import wilson


def by_month(counts: pl.DataFrame, match: str) -> pl.DataFrame:
    """Answer `Fleet.by_month` from the counts by month."""
    numerator = "came_back_family" if match == "family" else "came_back_any"
    months = (
        counts.filter(pl.col("closed_month").is_not_null())
        .select(
            pl.col("closed_month").str.to_date("%Y-%m-%d").alias("month"),
            pl.col(numerator).alias("numerator"),
            pl.col("judged").alias("denominator"),
            pl.col("young").alias("inside_window"),
        )
        .filter(pl.col("denominator") + pl.col("inside_window") > 0)
        .sort("month")
    )
    low, high = wilson(months["numerator"], months["denominator"])
    mean, limit_low, limit_high = p_chart(months["numerator"], months["denominator"])
    rate = pl.when(pl.col("denominator") > 0).then(pl.col("numerator") / pl.col("denominator"))
    beyond = (pl.col("rate") < pl.col("limit_low")) | (pl.col("rate") > pl.col("limit_high"))
    settled = pl.col("inside_window") == 0
    found = months.select(
        "month",
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
    judged = found.select(pl.when(settled).then("rate")).to_series().to_numpy()
    return found.with_columns(
        pl.when(settled & pl.col("rate").is_not_null())
        .then(pl.Series(one_sided_runs(judged, mean)))
        .alias("in_run")
    )
