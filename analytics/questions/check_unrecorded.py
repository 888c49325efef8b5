"""Checks not recorded on calls that came back, which could have shown the cause."""

from dataclasses import dataclass

import polars as pl

THIRTY_DAYS = 4
"""The bit of 30 days in sql/metrics/work_of_returns.sql: strings of returns are joined by it, always."""


@dataclass(frozen=True)
class Unrecorded:
    """Calls that came back, whatever is chosen.

    Parameters
    ----------
    calls : pl.DataFrame
        One row per repair that came back for the same kind of complaint within 30 days, on which a check is
        recorded, whose string of returns has a known final cause, and one that some check reveals. Columns
        row_id; seldom (its technician records checks on fewer than half of the visits); missing (no check
        that reveals the cause is recorded); share (the largest share of times that one of them reveals it);
        same_cause (the final cause was the one recorded on the call); returns, minutes, untimed (returns
        counted against it, their minutes on site and visits not timed).
    checks : pl.DataFrame
        Of those that are missing, one row per call and check that reveals the cause: row_id, seldom, check,
        share, returns, minutes, untimed.
    """

    calls: pl.DataFrame
    checks: pl.DataFrame


def unrecorded(
    calls: pl.DataFrame, checks: pl.DataFrame, reveals: pl.DataFrame, returns: pl.DataFrame
) -> Unrecorded:
    """Find the checks that were not recorded.

    Parameters
    ----------
    calls : DataFrame
        As from sql/metrics/checked_calls.sql, with seldom.
    checks : DataFrame
        Columns row_id, check_code: checks made, those recognised.
    reveals : DataFrame
        As from sql/metrics/reveals.sql.
    returns : DataFrame
        As from sql/metrics/work_of_returns.sql.
    """
    back = (
        calls.filter(pl.col("came_back") & pl.col("final_cause").is_not_null())
        .join(checks.select(pl.col("row_id").cast(pl.Int64)).unique(), on="row_id", how="semi")
        .select(
            "row_id", "seldom", "final_cause", (pl.col("cause") == pl.col("final_cause")).alias("same_cause")
        )
        .with_columns(pl.col("same_cause").fill_null(False))
    )
    could = back.select("row_id", pl.col("final_cause").alias("cause")).join(reveals, on="cause")
    made = checks.select(pl.col("row_id").cast(pl.Int64), "check_code").unique()
    shown = could.join(made, on=["row_id", "check_code"], how="semi").select("row_id").unique()
    best = could.group_by("row_id").agg(pl.col("share").max())
    cost = _cost(returns)
    every = (
        back.join(best, on="row_id")  # a cause that no check reveals could not have been shown by one
        .join(shown.with_columns(pl.lit(False).alias("missing")), on="row_id", how="left")
        .with_columns(pl.col("missing").fill_null(True))
        .join(cost, on="row_id", how="left")
        .with_columns(pl.col("returns", "minutes", "untimed").fill_null(0.0))
    )
    about = ["row_id", "seldom", "returns", "minutes", "untimed"]
    missing = every.filter("missing").select(about).join(could, on="row_id")
    return Unrecorded(
        every.select(*about, "missing", "share", "same_cause"),
        missing.select(*about, pl.col("check_code").alias("check"), "share"),
    )


def _cost(returns: pl.DataFrame) -> pl.DataFrame:
    counts = (pl.col("match") == "family") & (pl.col("window_bits") & THIRTY_DAYS != 0)
    return (
        returns.filter(counts)
        .group_by(pl.col("charged_row").alias("row_id"))
        .agg(
            pl.len().cast(pl.Float64).alias("returns"),
            pl.col("minutes").sum(),
            pl.col("untimed").sum(),
        )
    )
