"""What is told of a rate over time: the sums that watch it, and the day on which it changed."""

from dataclasses import dataclass
from datetime import date
from typing import Any

import polars as pl

from analytics.rates import Rate

CHANCE = 0.05
"""A change is claimed where a difference as large has a smaller probability without one."""

PATH_SCHEMA: dict[str, pl.DataType] = {
    "closed_at": pl.Datetime("us"),
    "calls": pl.Int64(),
    "more": pl.Float64(),
    "fewer": pl.Float64(),
}
SIGNALS_SCHEMA: dict[str, pl.DataType] = {
    "direction": pl.String(),
    "began": pl.Date(),
    "crossed": pl.Date(),
    "ended": pl.Date(),
    "highest": pl.Float64(),
}


@dataclass(frozen=True)
class Watched:
    """Calls watched one after another, or, against their own first year, day after day.

    Parameters
    ----------
    calls, came_back : int
        Calls watched, and those of them that came back.
    expected : float
        Returns expected of them.
    path : DataFrame
        Columns closed_at, calls (so far), more and fewer: heights of the two sums after that call; the last
        of each day.
    limit_more, limit_fewer : float
        Heights that each sum passes by chance in one year in forty.
    signals : DataFrame
        Columns direction ("more", "fewer"), began, crossed, ended (dates; null: still going on) and highest.
    """

    calls: int
    came_back: int
    expected: float
    path: pl.DataFrame
    limit_more: float
    limit_fewer: float
    signals: pl.DataFrame


@dataclass(frozen=True)
class DatedChange:
    """A change of the rate, and how sure its day is.

    Parameters
    ----------
    on, first, last : date
        First day after it, most likely, and the ends of the 95% set of days.
    before, after : Rate
        Callback rate before `on` and from then on.
    ratio_before, ratio_after : float
        Odds of coming back over those expected, before and after.
    p : float
        Probability of a difference as large where nothing changes.
    """

    on: date
    first: date
    last: date
    before: Rate
    after: Rate
    ratio_before: float
    ratio_after: float
    p: float

    @property
    def beyond_chance(self) -> bool:
        """Whether there is a change at all."""
        return self.p < CHANCE


@dataclass(frozen=True)
class OverTime:
    """Whether and since when the rate changed.

    Parameters
    ----------
    group : (field, code) or None
        What is compared with others; None: the calls chosen, with their own first year.
    rate : Rate
        Of the calls looked at.
    since, until : date or None
        First and last day of closing of the calls that are looked at; None without any.
    first_year : Rate or None
        What stands in for the expectation where no group is chosen.
    watched : Watched or None
        None where there are too few calls, or no year before them to go by.
    change : DatedChange or None
        The change that fits best, chance or not; None where there are too few calls to look for one.
    """

    group: tuple[str, str] | None
    rate: Rate
    since: date | None
    until: date | None
    first_year: Rate | None
    watched: Watched | None
    change: DatedChange | None

    def to_dict(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        watched = None
        if self.watched:
            frames = {name: getattr(self.watched, name).to_dicts() for name in ("path", "signals")}
            watched = vars(self.watched) | frames
        change = None
        if self.change:
            change = vars(self.change) | {
                "before": vars(self.change.before),
                "after": vars(self.change.after),
            }
            change |= {"beyond_chance": self.change.beyond_chance}
        plain = {"rate": vars(self.rate), "first_year": vars(self.first_year) if self.first_year else None}
        return vars(self) | plain | {"watched": watched, "change": change}
