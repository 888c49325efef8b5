"""Is it getting better, and since when? Calls watched one after another, and the day of a change."""

from datetime import date, datetime, timedelta

import numpy as np
import polars as pl
from scipy.special import logit

from analytics.filters import CHOSEN_BY, COMPARED, Filters
from analytics.questions.changes import PATH_SCHEMA, SIGNALS_SCHEMA, DatedChange, OverTime, Watched
from analytics.rates import Counted, Rate, rates
from analytics.statistics import change_point
from analytics.statistics.change_point import find_change
from analytics.statistics.cusum import climb, control_limit, excursions, scores

DOUBLED, HALVED = 2.0, 0.5
"""Changes of the odds that the two sums look for."""
FALSE_ALARMS = 0.025
"""Share of years in which each sum passes its limit though nothing has changed: one year in forty."""
LEAST_CALLS = 20
"""Fewer are not watched (our convention); for people as for anything else."""
LEAST_A_SIDE = change_point.LEAST_CALLS
"""Calls before and after a change at least."""
LEAST_OTHERS = 200
"""Judged calls of others that an expectation must rest on (our convention)."""
WATCHED_DAYS = 730
"""For how long a chosen group is watched."""
YEAR_DAYS = 365
CLASSES = 12
"""Into so many classes of expected chance calls are sorted for dating a change."""


def chosen_group(filters: Filters) -> tuple[str, str] | None:
    """Return field and code of the one group that is chosen; of several, the first one of `COMPARED`."""
    for field in COMPARED:
        codes = getattr(filters, CHOSEN_BY[field])
        if len(codes) == 1 and codes[0]:
            return field, codes[0]
    return None


def against_others(group: tuple[str, str], rows: pl.DataFrame, dispersion: float) -> OverTime:
    """Watch a group against what was expected of its calls.

    Parameters
    ----------
    group : (field, code)
    rows : DataFrame
        As from `analytics.questions.expected.expected_returns`.
    dispersion : float
        Design effect of units.
    """
    came_back, chance = rows["came_back"].to_numpy().astype(bool), rows["expected"].to_numpy()
    watched = None
    if rows.height >= LEAST_CALLS:
        watched = _watched(rows["closed_at"], np.arange(1, rows.height + 1), came_back, chance)
    days = rows.select(pl.col("closed_at").dt.date().alias("day"), came_back=came_back.astype(np.int64))
    days = days.group_by("day", maintain_order=True).agg(
        pl.col("came_back").sum(), pl.len().cast(pl.Int64).alias("judged")
    )
    classes, log_odds = _classes(chance)
    calls = np.zeros((days.height, len(log_odds)))
    np.add.at(calls, (rows["closed_at"].dt.date().rle_id().to_numpy(), classes), 1)
    change = dated(days, calls, log_odds, dispersion) if rows.height >= LEAST_CALLS else None
    return _answer(group, days, dispersion, None, watched, change)


def against_first_year(days: pl.DataFrame, dispersion: float) -> OverTime:
    """Watch calls against the rate of their own first year.

    Parameters
    ----------
    days : DataFrame
        Rows of metrics/by_day.
    dispersion : float
        Design effect of units.
    """
    days = days.filter(pl.col("judged") > 0)
    first_year, watched = None, None
    if days.height:
        ends = days["day"][0] + timedelta(days=YEAR_DAYS)
        base, later = days.filter(pl.col("day") < ends), days.filter(pl.col("day") >= ends)
        first_year = _rate(base, dispersion)
        usable = first_year.denominator >= LEAST_OTHERS and 0 < first_year.numerator < first_year.denominator
        if usable and later["judged"].sum() >= LEAST_CALLS:
            watched = _watched_by_day(later, first_year.numerator / first_year.denominator)
    change = None
    if days["judged"].sum() >= LEAST_CALLS:
        change = dated(days, days["judged"].to_numpy()[:, None], np.zeros(1), dispersion)
    return _answer(None, days, dispersion, first_year, watched, change)


def dated(
    days: pl.DataFrame, calls: np.ndarray, log_odds: np.ndarray, dispersion: float
) -> DatedChange | None:
    """Date the change that fits best.

    Parameters
    ----------
    days : DataFrame
        Columns day, came_back, judged.
    calls : array of int, shape (days, classes)
        Judged calls by class of what is expected.
    log_odds : array of float, shape (classes,)
        Expected log odds of each class.
    dispersion : float
        Design effect of units.
    """
    found = find_change(days["came_back"].to_numpy(), calls, log_odds, dispersion)
    if found is None:
        return None
    on = days["day"]
    return DatedChange(
        on[found.at],
        on[found.first],
        on[found.last],
        _rate(days[: found.at], dispersion),
        _rate(days[found.at :], dispersion),
        found.before,
        found.after,
        found.p,
    )


def _answer(
    group: tuple[str, str] | None,
    days: pl.DataFrame,
    dispersion: float,
    first_year: Rate | None,
    watched: Watched | None,
    change: DatedChange | None,
) -> OverTime:
    first, last = (days["day"][0], days["day"][-1]) if days.height else (None, None)
    return OverTime(group, _rate(days, dispersion), first, last, first_year, watched, change)


def _rate(days: pl.DataFrame, dispersion: float) -> Rate:
    counted = Counted(
        int(days["came_back"].sum()),
        int(days["judged"].sum()),
        design_effect=dispersion,
        name="callback_rate",
    )
    return rates([counted])[0]


def _classes(chance: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Sort calls into classes of nearly equal expectation; return class numbers and log odds of each."""
    edges = np.quantile(chance, np.linspace(0, 1, CLASSES + 1)[1:-1]) if len(chance) else np.zeros(0)
    _, number = np.unique(np.searchsorted(edges, chance, side="right"), return_inverse=True)
    sizes = np.bincount(number)
    means = np.bincount(number, chance) / np.maximum(sizes, 1)
    return number, logit(np.clip(means, 1e-6, 1 - 1e-6))


def _watched(closed_at: pl.Series, so_far: np.ndarray, came_back: np.ndarray, chance: np.ndarray) -> Watched:
    more, fewer = (scores(came_back, chance, ratio) for ratio in (DOUBLED, HALVED))
    return _both(closed_at, so_far, more, fewer, int(came_back.sum()), chance)


def _watched_by_day(days: pl.DataFrame, usual: float) -> Watched:
    """Add up the scores of each day: calls that are expected alike need not be told apart."""
    back, calls = days["came_back"].to_numpy(), days["judged"].to_numpy()
    ones, chance = np.array([True, False]), np.full(2, usual)
    more, fewer = (
        np.stack([back, calls - back], axis=1) @ scores(ones, chance, ratio) for ratio in (DOUBLED, HALVED)
    )
    closed_at = days["day"].cast(pl.Datetime("us"))
    total = int(calls.sum())
    return _both(closed_at, calls.cumsum(), more, fewer, int(back.sum()), chance[:1], usual * total)


def _both(
    closed_at: pl.Series,
    so_far: np.ndarray,
    more: np.ndarray,
    fewer: np.ndarray,
    came_back: int,
    chance: np.ndarray,
    expected: float | None = None,
) -> Watched:
    calls = int(so_far[-1])
    days = max((closed_at[-1] - closed_at[0]) / timedelta(days=1), 1.0)
    a_year = max(round(calls * YEAR_DAYS / max(days, YEAR_DAYS)), 1)
    heights = {"more": climb(more), "fewer": climb(fewer)}
    limits = {
        name: control_limit(chance, a_year, ratio, FALSE_ALARMS)
        for name, ratio in (("more", DOUBLED), ("fewer", HALVED))
    }
    signals = [
        (name, _day(closed_at[began]), _day(closed_at[crossed]), _ended(closed_at, ended), highest)
        for name, height in heights.items()
        for began, crossed, ended, highest in excursions(height, limits[name])
    ]
    path = pl.DataFrame({"closed_at": closed_at, "calls": so_far} | heights).select(
        pl.col(name).cast(kind) for name, kind in PATH_SCHEMA.items()
    )
    return Watched(
        calls,
        came_back,
        float(chance.sum()) if expected is None else expected,
        _last_of_days(path),
        limits["more"],
        limits["fewer"],
        pl.DataFrame(signals, schema=SIGNALS_SCHEMA, orient="row").sort("crossed"),
    )


def _last_of_days(path: pl.DataFrame) -> pl.DataFrame:
    return path.filter(pl.col("closed_at").dt.date().ne_missing(pl.col("closed_at").dt.date().shift(-1)))


def _day(moment: datetime) -> date:
    return moment.date()


def _ended(closed_at: pl.Series, at: int) -> date | None:
    return _day(closed_at[at]) if at < len(closed_at) else None
