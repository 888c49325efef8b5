"""The course of a filter from its change on: how long without a failure, and how the rate rises."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics import queries
from analytics.questions.filter_widened import DAYS_A_MONTH, EDGES_DAYS, PER_MONTHS, widened
from analytics.statistics.group_bootstrap import drawn_sums, limits
from analytics.statistics.life_table import at_risk, cumulative_hazard, daily_hazard, happened_by, still_free
from analytics.statistics.smooth_rate import Doubled, SmoothRate, doubled, smooth_rate

Floats = NDArray[np.float64]

GROUPS = 256
MARKS_MONTHS = (1, 3, 6, 9, 12, 18)
OUTCOMES = ("flow_linked", "other_cause", "unknown_cause")
"""What a first failure turned out to be; they compete: a filter has one first failure."""
ANY = "any"
LEAST_FILTERS = 50
LEAST_SHARE = 0.01
"""A curve is drawn as far as so many filters, and such a share of the most, are still watched."""
LONGEST_DAYS = 5 * 366
SETTLED_DAYS = 15
"""The smooth curve begins after the first two weeks."""
WEEK_DAYS = 7
KNOTS_DAYS = (91, 183, 365)
LEAST_KNOT_GAP_DAYS = 60


@dataclass(frozen=True)
class FilterCourse:
    """How filters fare from their change on.

    Parameters
    ----------
    filters, failed : int, int
        Filters watched, and first failures of them.
    watched_days : int
        Age up to which curves are given: beyond it too few filters are watched.
    marks : DataFrame
        By outcome (any, flow_linked, other_cause, unknown_cause) and months: columns outcome, months, share,
        low, high (of filters, by that age; null beyond `watched_days`), watched (filters at that age).
    curves : DataFrame
        By outcome and age, a week apart: columns outcome, age_days, share, low, high.
    hazard_sum : DataFrame
        First failures a filter, summed over the age (cumulative hazard): columns age_days, sum, low, high.
    rates : DataFrame
        Smooth rate of all failures by age: columns what, age_days, rate, low, high (per 1,000 unit-months).
    doubled : dict of str to Doubled or None
        By what failed: age in days at which the smooth rate is twice that of 0-3 months; None without a fit.
    widened : DataFrame
        Limits that allow for units that fail again and again: columns what, months (6, 12), ratio, low, high.
    bands : DataFrame
        The same for rates by band: columns what, band (its number, 0 the first two weeks), low, high.
    """

    filters: int
    failed: int
    watched_days: int
    marks: pl.DataFrame
    curves: pl.DataFrame
    hazard_sum: pl.DataFrame
    rates: pl.DataFrame
    doubled: dict[str, Doubled | None]
    widened: pl.DataFrame
    bands: pl.DataFrame

    def widened_of(self, what: str, months: str) -> dict[str, Any]:
        """Return a ratio of old to young filters with limits that allow for units failing repeatedly."""
        return self.widened.row(
            by_predicate=(pl.col("what") == what) & (pl.col("months") == months), named=True
        )

    def to_dict(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return {
            "filters": self.filters,
            "failed": self.failed,
            "watched_days": self.watched_days,
            "marks": self.marks.to_dicts(),
            "hazard_sum": self.hazard_sum.to_dicts(),
            "rates": self.rates.to_dicts(),
            "doubled": {what: vars(each) if each else None for what, each in self.doubled.items()},
            "widened": self.widened.to_dicts(),
        }


def filter_course(cursor: duckdb.DuckDBPyConnection, whats: Sequence[str]) -> FilterCourse | None:
    """Answer how filters fare from their change on.

    Parameters
    ----------
    cursor : DuckDBPyConnection
        On which `filter_age.lay_out` was run.
    whats : sequence of str
        What failed: all, flow_linked, family:<code>.

    Returns
    -------
    FilterCourse or None
        None where no filter was watched.
    """
    return from_rows(queries.frame(cursor, "metrics/filter_course"), whats)


def from_rows(rows: pl.DataFrame, whats: Sequence[str]) -> FilterCourse | None:
    """Shape the answer from the rows of metrics/filter_course."""
    if rows.is_empty():
        return None
    table = _Table(rows)
    watched = table.recurrent
    firsts = {outcome: table.of("first", outcome) for outcome in OUTCOMES}
    any_first = sum(firsts.values(), np.zeros_like(watched))
    unfailed = at_risk(table.of("entering"), table.of("unfailed") + any_first)
    last = _watched_days(unfailed.sum(axis=0))
    hazards = drawn_sums(np.stack([unfailed, any_first, *firsts.values()]))
    curves, marks = _free(hazards, last)
    fits = {what: _smooth(watched, table.of("failed", what), last) for what in whats}
    failed = {what: table.of("failed", what) for what in whats}
    found = widened(watched, failed)
    return FilterCourse(
        filters=int(table.of("entering").sum()),
        failed=int(any_first.sum()),
        watched_days=last,
        marks=marks,
        curves=curves,
        hazard_sum=_summed(hazards, last),
        rates=pl.concat([_rates(what, fit) for what, fit in fits.items()]),
        doubled={what: _doubled(fit) for what, fit in fits.items()},
        widened=found[0],
        bands=found[1],
    )


class _Table:
    """Counts by group of units and day of age."""

    def __init__(self, rows: pl.DataFrame) -> None:
        self._rows = rows.with_columns(pl.col("age_days").clip(0, LONGEST_DAYS))
        self._days = int(self._rows["age_days"].max() or 0) + 1  # type: ignore[arg-type]
        self.recurrent = at_risk(self.of("entering"), self.of("leaving"))

    def of(self, measure: str, what: str = "all") -> Floats:
        """Return the counts of one measure, (groups, days)."""
        rows = self._rows.filter((pl.col("measure") == measure) & (pl.col("what") == what))
        found = np.zeros((GROUPS, self._days))
        at = rows["unit_group"].to_numpy(), rows["age_days"].to_numpy()
        np.add.at(found, at, rows["number"].to_numpy().astype(float))
        return found


def _watched_days(unfailed: Floats) -> int:
    enough = unfailed >= max(LEAST_FILTERS, LEAST_SHARE * unfailed.max())
    return int(np.flatnonzero(enough)[-1]) if enough.any() else 0


def _free(sums: Floats, last: int) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Return curves and marks of (replicates, [watched, any, each outcome], days); replicate 0 is as seen."""
    watched, any_first = sums[:, 0], sums[:, 1]
    shares = {ANY: 1 - still_free(daily_hazard(any_first, watched))}
    shares |= {
        outcome: happened_by(sums[:, 2 + at], any_first, watched) for at, outcome in enumerate(OUTCOMES)
    }
    weeks = np.arange(0, last + 1, WEEK_DAYS)
    curves, marks = [], []
    for outcome, share in shares.items():
        low, high = limits(share[1:])
        curves.append(_frame(weeks, share[0], low, high).with_columns(outcome=pl.lit(outcome)))
        for months in MARKS_MONTHS:
            day = int(months * DAYS_A_MONTH)
            known = day <= last
            marks.append(
                {
                    "outcome": outcome,
                    "months": months,
                    "share": float(share[0, day]) if known else None,
                    "low": float(low[day]) if known else None,
                    "high": float(high[day]) if known else None,
                    "watched": int(watched[0, day]) if day < watched.shape[1] else 0,
                }
            )
    named = pl.concat(curves).select("outcome", "age_days", "share", "low", "high")
    return named, pl.DataFrame(marks, infer_schema_length=None)


def _frame(days: NDArray[np.int64], share: Floats, low: Floats, high: Floats) -> pl.DataFrame:
    return pl.DataFrame({"age_days": days, "share": share[days], "low": low[days], "high": high[days]})


def _summed(sums: Floats, last: int) -> pl.DataFrame:
    every = cumulative_hazard(daily_hazard(sums[:, 1], sums[:, 0]))
    low, high = limits(every[1:])
    return _frame(np.arange(0, last + 1, WEEK_DAYS), every[0], low, high).rename({"share": "sum"})


def _smooth(watched: Floats, failed: Floats, last: int) -> SmoothRate | None:
    """Fit the rate after the first two weeks, by group of units and week of age."""
    weeks = (last + 1 - SETTLED_DAYS) // WEEK_DAYS
    end = SETTLED_DAYS + weeks * WEEK_DAYS
    if weeks * WEEK_DAYS < 2 * LEAST_KNOT_GAP_DAYS:
        return None
    time, counts = (
        each[:, SETTLED_DAYS:end].reshape(GROUPS, weeks, WEEK_DAYS).sum(axis=2) for each in (watched, failed)
    )
    middles: Floats = SETTLED_DAYS + (np.arange(weeks, dtype=float) + 0.5) * WEEK_DAYS - 0.5
    inner = [knot for knot in KNOTS_DAYS if knot <= end - LEAST_KNOT_GAP_DAYS]
    return smooth_rate(
        counts.ravel(),
        time.ravel() / DAYS_A_MONTH / PER_MONTHS,
        np.tile(middles, GROUPS),
        np.repeat(np.arange(GROUPS), weeks),
        [SETTLED_DAYS, *inner, end],
        middles,
    )


def _rates(what: str, fit: SmoothRate | None) -> pl.DataFrame:
    names = ("age", "rate", "low", "high")
    columns = {name: getattr(fit, name) if fit else np.zeros(0) for name in names}
    return pl.DataFrame(columns).select(
        pl.lit(what).alias("what"), pl.col("age").alias("age_days"), *names[1:]
    )


def _doubled(fit: SmoothRate | None) -> Doubled | None:
    return doubled(fit, fit.age < EDGES_DAYS[1]) if fit else None
