"""How the rate runs over time: the facade as far as it is about weeks, months and changes."""

from datetime import timedelta

import polars as pl

from analytics import queries
from analytics.errors import BadQuestion
from analytics.filters import CHOSEN_BY, Filters
from analytics.fleet_records import FleetRecords
from analytics.questions import months
from analytics.questions.changes import OverTime
from analytics.questions.clustering import effects_of_all
from analytics.questions.expected import expected_returns
from analytics.questions.followed import first_young, month_estimates
from analytics.questions.over_time import (
    LEAST_OTHERS,
    WATCHED_DAYS,
    against_first_year,
    against_others,
    chosen_group,
)
from analytics.questions.reading import Reading

PERIODS = ("month", "week")


class FleetTime(FleetRecords):
    """Questions about the course of the rate; see `analytics.fleet.Fleet`."""

    def rates_over_time(self, filters: Filters, period: str = "month") -> pl.DataFrame:
        """Callback rate by month or week of closing, with control limits.

        Parameters
        ----------
        filters : Filters
            Which calls, window and match.
        period : str
            "month", or "week": the ISO week, which begins on Monday.

        Returns
        -------
        pl.DataFrame
            The columns of `Fleet.by_month`, the first named month or week (date of its first day); of months
            also estimate, estimate_low, estimate_high (0..1) and followed (calls): where some calls of the
            month are too young to judge, the rate it is on the way to, from the curve of days until they ring
            again. Null where not yet known, and where all calls can be judged.

        Raises
        ------
        BadQuestion
            When there is no such period.
        """
        if period not in PERIODS:
            raise BadQuestion(f"Rates are not given by '{period}'. Choose one of {', '.join(PERIODS)}.")
        read = self._read()
        return read.once(("over time", filters, period), lambda: self._periods(read, filters, period))

    def over_time(self, filters: Filters) -> OverTime:
        """Whether the rate changed, and when.

        The one technician, depot, part or product family that is chosen is watched over the last two years
        against what was expected of its calls; else the calls chosen against the rate of their first year.
        """
        read = self._read()
        return read.once(("changes", filters), lambda: self._changes(read, filters))

    def _periods(self, read: Reading, filters: Filters, period: str) -> pl.DataFrame:
        frame = months.by_period(_days(read, filters), period)
        return self._with_estimates(read, filters, frame) if period == "month" else frame

    @staticmethod
    def _with_estimates(read: Reading, filters: Filters, frame: pl.DataFrame) -> pl.DataFrame:
        """Add to months the rate that those with calls too young to judge are on the way to."""
        young = first_young(frame)["month"].to_list()
        recent = filters.but(closed_from=max(young[0], filters.closed_from or young[0])) if young else filters
        wanted = [first.isoformat() for first in young]
        judged = int(frame["denominator"].sum())
        effect = _effect_of(read, filters, judged)
        estimates = month_estimates(read.cursor, read.chosen(recent), wanted, effect)
        return frame.join(estimates, on="month", how="left", maintain_order="left")

    def _changes(self, read: Reading, filters: Filters) -> OverTime:
        days, group = _days(read, filters), chosen_group(filters)
        judged = days.filter(pl.col("judged") > 0)
        if group is None or judged.is_empty():
            return against_first_year(days, _effect(read, filters))
        since = judged["day"][-1] - timedelta(days=WATCHED_DAYS)
        watched = filters.but(closed_from=max(since, filters.closed_from or since))
        field, code = group
        own = read.meanwhile(lambda other: _judged(_days(other, watched)))
        others = _judged(_days(read, watched.but(**{CHOSEN_BY[field]: ()}))) - own()
        if others < LEAST_OTHERS:
            return against_first_year(days, _effect(read, filters))
        effect = read.meanwhile(lambda other: _effect(other, watched))
        rows = expected_returns(read.cursor, read.chosen(watched), field, code, others)
        return against_others(group, rows, effect())


def _days(read: Reading, filters: Filters) -> pl.DataFrame:
    return read.once(
        ("days", filters), lambda: queries.frame(read.cursor, "metrics/by_day", read.chosen(filters).values)
    )


def _judged(days: pl.DataFrame) -> int:
    return int(days["judged"].sum())


def _effect(read: Reading, filters: Filters) -> float:
    return _effect_of(read, filters, _judged(_days(read, filters)))


def _effect_of(read: Reading, filters: Filters, judged: int) -> float:
    """Return the design effect of units, never below one: fewer surprises than chance are none."""
    count = "came_back_family" if filters.match == "family" else "came_back_any"
    return max(effects_of_all(read, read.chosen(filters), judged).of(count) or 1.0, 1.0)
