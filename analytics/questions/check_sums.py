"""From checks in their order to sums over the calls chosen, and from sums to figures of each check."""

from typing import Any

import numpy as np
import polars as pl
from numpy.typing import NDArray

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
    before = np.concatenate([[0], np.cumsum(kept[layout.call], dtype=np.int64)])
    verdicts = np.diff(before[layout.begins]).reshape(of, len(VERDICTS))
    here = kept[layout.timed_call]
    minutes, found = layout.minutes * here, layout.found * here
    if not layout.units.size:
        minutes_of_unit = found_of_unit = np.zeros(0)
    else:
        minutes_of_unit = np.add.reduceat(minutes, layout.units).astype(np.float64)
        found_of_unit = np.add.reduceat(found, layout.units).astype(np.float64)

    def by_cell(values: NDArray[Any], begins: NDArray[np.int64] = layout.of_cells) -> NDArray[np.float64]:
        totals = np.zeros(of)
        if begins.size:
            totals[layout.timed_cells] = np.add.reduceat(values, begins, dtype=np.float64)
        return totals

    def whole(values: NDArray[np.float64]) -> NDArray[np.int64]:
        return values.astype(np.int64)

    timed_from = layout.units[layout.of_cells]
    return layout.cells.with_columns(
        *[pl.Series(name, verdicts[:, at]) for at, name in enumerate(VERDICTS)],
        pl.Series("timed", whole(by_cell(here, timed_from))),
        pl.Series("minutes", by_cell(minutes_of_unit)),
        pl.Series("found_timed", whole(by_cell(found_of_unit))),
        pl.Series("units", whole(by_cell(minutes_of_unit > 0))),
        pl.Series("finding_units", whole(by_cell(found_of_unit > 0))),
        pl.Series("nn", by_cell(minutes_of_unit * minutes_of_unit)),
        pl.Series("nx", by_cell(minutes_of_unit * found_of_unit)),
        pl.Series("xx", by_cell(found_of_unit * found_of_unit)),
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
        group in order of the lower limit of finds an hour, those without an interval last.
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
            pl.col("per_hour_low").neg(), pl.col("per_hour").neg(), pl.col("found").neg(), "label",
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
