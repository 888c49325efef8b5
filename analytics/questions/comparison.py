"""What a fair comparison answers, and which comparisons are made."""

from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import Any

import polars as pl

from analytics.errors import BadQuestion
from analytics.filters import COMPARED

PERIODS = ("year", "week")
"""The last twelve months, or the last week, of calls that can be judged."""
YEAR = timedelta(days=365)
WEEK = timedelta(days=7)

GROUPS_SCHEMA = {
    "group": pl.String,
    "label": pl.String,
    "calls": pl.Int64,
    "came_back": pl.Int64,
    "rate": pl.Float64,
    "expected": pl.Float64,
    "ratio": pl.Float64,
    "low": pl.Float64,
    "high": pl.Float64,
    "assumes_independent": pl.Boolean,
    "shrunk": pl.Float64,
    "extra_returns": pl.Float64,
    "p": pl.Float64,
    "p_adjusted": pl.Float64,
    "ranked": pl.Boolean,
    "differs": pl.Boolean,
    "odds_ratio": pl.Float64,
    "odds_low": pl.Float64,
    "odds_high": pl.Float64,
}

FUNNEL_SCHEMA = {"calls": pl.Int64} | dict.fromkeys(("low", "high", "lowest", "highest"), pl.Float64)


@dataclass(frozen=True)
class Comparison:
    """Groups beside each other, each against what its work would have led one to expect.

    Parameters
    ----------
    by, period : str
        What is compared, and over which time.
    since, until : datetime or None
        Closings compared, both included; None without calls.
    calls, came_back : int
        Judged calls of the period that are in a group, and how many came back.
    groups : DataFrame
        One row a group, most calls first: group, label, calls, came_back, rate (plain), expected (returns),
        ratio (came_back / expected), low, high (its 95% interval), assumes_independent (the interval is that
        of a Poisson count), shrunk (the ratio pulled towards the average), extra_returns (more than expected,
        by the ratio pulled), p, p_adjusted, ranked (enough calls), differs (more than chance, over all groups
        ranked), and of those that differ a second look without a model: odds_ratio, odds_low, odds_high
        against all other calls, within kinds of complaint.
    dispersion : float
        Variance of counts over that of independent calls.
    spread : float
        By how much the limits of the funnel are widened because groups differ more than chance has them.
    between : float
        Variance of the ratio between groups beyond chance.
    funnel : DataFrame
        Between which rates groups of so many calls lie by chance alone, widened by dispersion and spread:
        columns calls, low, high (95%), lowest, highest (99.8%), 0..1.
    """

    by: str
    period: str
    since: datetime | None
    until: datetime | None
    calls: int
    came_back: int
    groups: pl.DataFrame
    dispersion: float
    spread: float
    between: float
    funnel: pl.DataFrame

    @property
    def rate(self) -> float | None:
        """Plain share of all calls that came back."""
        return self.came_back / self.calls if self.calls else None

    def to_dict(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        frames = {"groups": self.groups.to_dicts(), "funnel": self.funnel.to_dicts()}
        return vars(self) | {"rate": self.rate} | frames


def beginning(until: datetime, period: str) -> datetime:
    """Return the midnight at which a period begins, so that a link by days opens the calls counted."""
    length = YEAR if period == "year" else WEEK
    return datetime.combine((until - length).date() + timedelta(days=1), time.min)


def periods_of(by: str) -> tuple[str, ...]:
    """Over which times a field is compared: people over a year only."""
    return PERIODS[:1] if by == "technician" else PERIODS


def check_question(by: str, period: str) -> None:
    """Refuse a comparison that is not made.

    Raises
    ------
    BadQuestion
        Saying what is.
    """
    if by not in COMPARED:
        raise BadQuestion(f"'{by}' is not compared. Choose one of {', '.join(COMPARED)}.")
    if period not in periods_of(by):
        legal = " or ".join(periods_of(by))
        raise BadQuestion(f"A comparison by {by} over a {period} is not made. Choose {legal}.")
