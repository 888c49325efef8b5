"""Days until they ring again: the share of repairs that came back, by days since closing, up to a year."""

from dataclasses import dataclass
from typing import Any

import duckdb
import numpy as np
import polars as pl

from analytics import queries
from analytics.errors import BadQuestion
from analytics.filters import GROUPINGS
from analytics.questions.clustering import design_effects
from analytics.questions.labelling import group_labels
from analytics.questions.reading import Reading
from analytics.questions.selecting import Selection
from analytics.statistics.survival import Curve, LogRank, cumulative_incidence, log_rank

HOURS_A_DAY = 24
FOLLOWED_DAYS = 365
MARKS_DAYS = (7, 30, 90, 365)
OVERLAPPING = ("symptom", "part")
NOT_TESTED = (*OVERLAPPING, "technician")
"""A call can have several symptoms or parts; people are not compared without regard to their work."""
MOST_CURVES = 60
"""Groups that get a curve, those with most calls; of more there is no test either: it would take too long."""
EVERY_MONTH = 10_000
LEAST_AT_RISK = 20
"""Where fewer calls are followed, the curve ends (our convention): a step there would be one call's luck."""


@dataclass(frozen=True)
class WaitCurve:
    """The curve of one group.

    Parameters
    ----------
    group : str or None
        Code of the group; None: not recorded, or all calls where there is no grouping.
    label : str
        The words to show for it.
    calls : int
        Completed calls that it is made from.
    points : DataFrame
        Columns days, share, low, high (0..1) and at_risk, in steps: the share holds until the next row.
    known_days : float
        Until when the curve is known: enough calls were followed so long.
    marks : DataFrame
        The curve at some days, the window's among them: columns days, share, low, high (null: not yet known)
        and estimated (bool: some calls were not followed so long, so that the share is no plain one).
    """

    group: str | None
    label: str
    calls: int
    points: pl.DataFrame
    known_days: float
    marks: pl.DataFrame


@dataclass(frozen=True)
class RingingAgain:
    """How long until customers ring again.

    Parameters
    ----------
    whole : WaitCurve
        All calls chosen.
    groups : list of WaitCurve
        One a group, most calls first and what is not recorded last, at most `MOST_CURVES`; months in order
        of time.
    test : LogRank or None
        Whether the groups differ in how soon a call comes back, calls taken for independent; None where they
        can not be compared: fewer than two groups, very many, or one of `NOT_TESTED`.
    """

    whole: WaitCurve
    groups: list[WaitCurve]
    test: LogRank | None

    def to_dict(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return {
            "whole": _plain(self.whole),
            "groups": [_plain(group) for group in self.groups],
            "test": None if self.test is None else vars(self.test),
        }


def ringing_again(read: Reading, chosen: Selection, by: str | None) -> RingingAgain:
    """Answer `Fleet.ringing_again`."""
    if by is not None and by not in GROUPINGS:
        raise BadQuestion(f"Curves can not be given by '{by}'. Choose one of {', '.join(GROUPINGS)}.")
    window = chosen.filters.window_days
    came_back = "came_back_family" if chosen.filters.match == "family" else "came_back_any"
    cursor = read.cursor
    if by in OVERLAPPING:
        together = read.meanwhile(lambda other: wait_counts(other.cursor, chosen, "none"))
        counts = wait_counts(cursor, chosen, by)
        everything = together()
    else:
        counts = wait_counts(cursor, chosen, by or "none")
        everything = _together(counts)
    calls = int(everything.select(pl.sum_horizontal("happened", "competing", "censored").sum()).item() or 0)
    effect = design_effects(cursor, chosen.values, calls).of(came_back) or 1.0
    whole = wait_curve(everything, None, "all calls", window, effect)
    if by is None:
        return RingingAgain(whole, [], None)
    too_many = bool(counts["is_rest"].any())
    counts = counts.filter(~pl.col("is_rest"))
    parts = counts.partition_by("group_code", maintain_order=True, as_dict=True)
    labels = group_labels(cursor, by, [code for (code,) in parts])
    groups = [wait_curve(rows, code, labels[code], window, effect) for (code,), rows in parts.items()]
    if by == "month":
        groups.sort(key=lambda one: one.group or "")
    else:
        groups.sort(key=lambda one: (one.group is None, -one.calls, one.label))
    test = None if by in NOT_TESTED or too_many else _compared(counts)
    return RingingAgain(whole, groups, test)


def wait_counts(cursor: duckdb.DuckDBPyConnection, chosen: Selection, by: str) -> pl.DataFrame:
    """Return the rows of metrics/ringing_again."""
    most = MOST_CURVES if by != "month" else EVERY_MONTH
    return queries.frame(cursor, "metrics/ringing_again", chosen.values | {"by": by, "most": most})


def _together(counts: pl.DataFrame) -> pl.DataFrame:
    """Add the groups up, of which each call is in one."""
    return counts.group_by("hours").agg(pl.col("happened", "competing", "censored").sum()).sort("hours")


def wait_curve(
    counts: pl.DataFrame,
    group: str | None,
    label: str,
    window: int,
    effect: float,
    least: int | None = None,
) -> WaitCurve:
    """Return the curve of one group from its rows of metrics/ringing_again.

    It ends where fewer than `least` calls are followed: `LEAST_AT_RISK` unless given.
    """
    hours, happened, competing, censored = (
        counts[name].to_numpy() for name in ("hours", "happened", "competing", "censored")
    )
    leaving = happened + competing + censored
    known_days = _known_hours(hours, leaving, censored, least or LEAST_AT_RISK) / HOURS_A_DAY
    curve = cumulative_incidence(hours, happened, competing, censored, effect)
    points = _points(curve).filter(pl.col("days") <= known_days)
    lost = hours[(censored > 0)].min(initial=FOLLOWED_DAYS * HOURS_A_DAY) / HOURS_A_DAY
    marks = [
        (days, *(_at(points, days) if known_days >= days else (None, None, None)), lost < days)
        for days in sorted({*MARKS_DAYS, window})
    ]
    schema = dict.fromkeys(("share", "low", "high"), pl.Float64)
    return WaitCurve(
        group,
        label,
        int(leaving.sum()),
        points,
        known_days,
        pl.DataFrame(marks, schema={"days": pl.Int64} | schema | {"estimated": pl.Boolean}, orient="row"),
    )


def _known_hours(hours: np.ndarray, leaving: np.ndarray, censored: np.ndarray, least: int) -> float:
    """Until when enough calls were followed; where none is lost to the end of the records, to the end."""
    if not censored.any():
        return FOLLOWED_DAYS * HOURS_A_DAY
    followed = leaving[::-1].cumsum()[::-1]
    lost_before = censored.cumsum() - censored
    return float(hours[(followed >= least) | (lost_before == 0)].max())


def _points(curve: Curve) -> pl.DataFrame:
    return pl.DataFrame(
        {
            "days": curve.time / HOURS_A_DAY,
            "share": curve.share,
            "low": curve.low,
            "high": curve.high,
            "at_risk": curve.at_risk,
        }
    )


def _at(points: pl.DataFrame, days: float) -> tuple[float, float, float]:
    """Return share, low and high by so many days."""
    before = points.filter(pl.col("days") <= days)
    return before.select("share", "low", "high").row(-1) if before.height else (0.0, 0.0, 0.0)


def _compared(counts: pl.DataFrame) -> LogRank | None:
    named = counts.filter(pl.col("group_code").is_not_null())
    if named.is_empty():
        return None
    left = pl.col("happened") + pl.col("competing") + pl.col("censored")
    wide = {
        name: named.with_columns(value.alias("value"))
        .pivot("group_code", index="hours", values="value", sort_columns=True)
        .sort("hours")
        .drop("hours")
        .fill_null(0)
        .to_numpy()
        for name, value in (("happened", pl.col("happened")), ("leaving", left))
    }
    return log_rank(wide["happened"].astype(np.float64), wide["leaving"].astype(np.float64))


def _plain(curve: WaitCurve) -> dict[str, Any]:
    return vars(curve) | {"points": curve.points.to_dicts(), "marks": curve.marks.to_dicts()}
