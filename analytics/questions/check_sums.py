"""From checks in their order to sums over the calls chosen, and from sums to figures of each check."""

from typing import Any

import numpy as np
import polars as pl

from analytics.questions.check_ground import VERDICTS, Flags, Layout
from analytics.statistics.cluster_ratio import ratio_intervals
from analytics.statistics.intervals import wilson

FEWEST_UNITS = 5
"""Units on which a check found the fault below which finds an hour get no interval (our convention)."""
MINUTES_AN_HOUR = 60

CHECKS_SCHEMA: dict[str, Any] = {
    "group": pl.String, "group_label": pl.String, "check": pl.String, "label": pl.String,
    "caution": pl.String,
    "made": pl.Int64, "found": pl.Int64, "rate": pl.Float64, "low": pl.Float64, "high": pl.Float64,
    "cleared": pl.Int64, "ruled_out": pl.Int64,
    "ruled_out_rate": pl.Float64, "ruled_out_low": pl.Float64, "ruled_out_high": pl.Float64,
    "missed": pl.Int64, "elsewhere": pl.Int64, "unclear": pl.Int64, "unknown": pl.Int64,
    "timed": pl.Int64, "minutes": pl.Float64, "found_timed": pl.Int64,
    "per_hour": pl.Float64, "per_hour_low": pl.Float64, "per_hour_high": pl.Float64,
}  # fmt: skip
"""Columns of `Checks.checks`, where each is described."""


def sums(layout: Layout, kept: Flags) -> pl.DataFrame:
    """Add up the checks of the calls that are kept.

    Parameters
    ----------
    layout : Layout
    kept : array of bool
        By row of the call.

    Returns
    -------
    DataFrame
        One row a cell of the layout: group, check; the number of each verdict; timed, minutes (their sum),
        found_timed; units (with a timed check), finding_units (of them, with a find), and the sums over units
        nn (minutes squared), nx (minutes times finds), xx (finds squared).
    """
    of = len(layout.cells)
    if not of:
        counted = [*VERDICTS, "timed", "minutes", "found_timed", "units", "finding_units", "nn", "nx", "xx"]
        return layout.cells.with_columns(pl.lit(0.0).alias(name) for name in counted)
    here = kept[layout.call]
    verdicts = np.bincount(layout.coded[here], minlength=of * len(VERDICTS)).reshape(of, len(VERDICTS))
    cell = layout.coded // len(VERDICTS)
    timed = np.bincount(cell[here & (layout.minutes > 0)], minlength=of)
    minutes = np.add.reduceat(layout.minutes * here, layout.units, dtype=np.float64)
    found = np.add.reduceat(layout.found * here, layout.units, dtype=np.float64)

    def by_cell(values: np.ndarray) -> np.ndarray:
        return np.add.reduceat(values, layout.of_cells, dtype=np.float64)

    return layout.cells.with_columns(
        *[pl.Series(name, verdicts[:, at]) for at, name in enumerate(VERDICTS)],
        pl.Series("timed", timed),
        pl.Series("minutes", by_cell(minutes)),
        pl.Series("found_timed", by_cell(found).astype(np.int64)),
        pl.Series("units", by_cell(minutes > 0).astype(np.int64)),
        pl.Series("finding_units", by_cell(found > 0).astype(np.int64)),
        pl.Series("nn", by_cell(minutes * minutes)),
        pl.Series("nx", by_cell(minutes * found)),
        pl.Series("xx", by_cell(found * found)),
    )


def check_figures(
    summed: pl.DataFrame, about: pl.DataFrame, group_labels: dict[str | None, str]
) -> pl.DataFrame:
    """Turn sums into figures.

    Parameters
    ----------
    summed : DataFrame
        As from `sums`.
    about : DataFrame
        Columns check, label, caution: the checks to show.
    group_labels : dict of group to words

    Returns
    -------
    DataFrame
        Columns as in `CHECKS_SCHEMA`, of checks made at least once: groups with most checks first; within a
        group most finds an hour first, those without an interval last.
    """
    verdicts = pl.sum_horizontal(VERDICTS)
    rows = summed.join(about, on="check").filter(verdicts > 0)
    rows = rows.with_columns(
        verdicts.cast(pl.Int64).alias("made"),
        (pl.col("ruled_out") + pl.col("missed")).alias("cleared"),
        pl.col("group")
        .replace_strict(group_labels, default=None, return_dtype=pl.String)
        .alias("group_label"),
    )
    rows = _with_rate(rows, "found", "made", ("rate", "low", "high"))
    rows = _with_rate(rows, "ruled_out", "cleared", ("ruled_out_rate", "ruled_out_low", "ruled_out_high"))
    mean = pl.when(pl.col("timed") > 0).then(pl.col("minutes") / pl.col("timed"))
    figures = _with_finds_an_hour(rows).with_columns(mean.alias("minutes"))
    size = pl.col("made").sum().over("group")
    return (
        figures.sort(
            pl.col("group").is_null(), size.neg(), "group",
            pl.col("per_hour_low").is_null(), pl.col("per_hour").neg(), pl.col("found").neg(), "label",
            nulls_last=True,
        )
        .select(CHECKS_SCHEMA.keys())
        .cast(CHECKS_SCHEMA)  # type: ignore[arg-type]
    )  # fmt: skip


def _with_rate(rows: pl.DataFrame, over: str, of: str, names: tuple[str, str, str]) -> pl.DataFrame:
    share = pl.when(pl.col(of) > 0).then(pl.col(over) / pl.col(of)).alias(names[0])
    limits = wilson(rows[over].to_numpy(), rows[of].to_numpy())
    with_limits = [pl.Series(name, each).fill_nan(None) for name, each in zip(names[1:], limits, strict=True)]
    return rows.with_columns(share, *with_limits)


def _with_finds_an_hour(rows: pl.DataFrame) -> pl.DataFrame:
    """Add finds per hour of minutes measured, with limits that know of units."""
    each = pl.when(pl.col("timed") > 0).then(MINUTES_AN_HOUR * pl.col("found_timed") / pl.col("minutes"))
    enough = (rows["finding_units"] >= FEWEST_UNITS).to_numpy()
    fields = rows.select("units", "minutes", "found_timed", "nn", "nx", "xx").to_numpy().astype(np.float64)
    limits = np.full((2, rows.height), np.nan)
    limits[:, enough] = ratio_intervals(fields[enough], rows["finding_units"].to_numpy()[enough])
    low, high = (pl.Series(values * MINUTES_AN_HOUR).fill_nan(None) for values in limits)
    return rows.with_columns(each.alias("per_hour"), low.alias("per_hour_low"), high.alias("per_hour_high"))
