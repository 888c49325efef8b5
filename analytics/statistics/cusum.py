"""Watching a rate one call after another: cumulative sums that climb when it changes."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

SEED = 1984
DRAWS = 800_000
"""Calls drawn in all for a limit."""
FEWEST_SERIES = 400
MOST_SERIES = 10_000
LONGEST = DRAWS // FEWEST_SERIES
"""Longest series that are drawn."""
LONG = LONGEST // 2
"""From so many calls on, the heights of series follow their limiting law closely."""


def climb(steps: ArrayLike) -> Floats:
    """Cumulative sum that never falls below zero: C(t) = max(0, C(t-1) + step(t)), beginning at 0.

    Parameters
    ----------
    steps : array-like of float, shape (..., n)
        In order of time; several series stand one above the other.

    Returns
    -------
    array of float, shape (..., n)

    Notes
    -----
    Page ES (1954), Continuous inspection schemes, Biometrika 41:100-115 (from memory). Written as the sum
    minus its lowest value so far, zero included, which needs no loop.

    Examples
    --------
    >>> climb([1, -2, 1, 1]).tolist()
    [1.0, 0.0, 1.0, 2.0]
    """
    total = np.cumsum(np.asarray(steps, dtype=np.float64), axis=-1)
    return total - np.minimum(np.minimum.accumulate(total, axis=-1), 0.0)


def scores(came_back: ArrayLike, expected: ArrayLike, odds_ratio: float) -> Floats:
    """Log-likelihood ratio of each call: odds of coming back multiplied, against as expected.

    Parameters
    ----------
    came_back : array-like of bool, shape (n,)
    expected : array-like of float, shape (n,)
        Chance of each call to come back, 0..1.
    odds_ratio : float
        The change looked for: 2 doubles the odds, 0.5 halves them.

    Returns
    -------
    array of float, shape (n,)

    Notes
    -----
    Steiner SH, Cook RJ, Farewell VT, Treasure T (2000), Monitoring surgical performance using risk-adjusted
    cumulative sum charts, Biostatistics 1:441-452 (from memory).

    Examples
    --------
    >>> scores([True, False], [0.5, 0.5], 2.0).round(4).tolist()
    [0.2877, -0.4055]
    """
    happened = np.asarray(came_back, dtype=np.float64)
    chance = np.asarray(expected, dtype=np.float64)
    steps: Floats = happened * np.log(odds_ratio) - np.log1p((odds_ratio - 1) * chance)
    return steps


def control_limit(
    expected: ArrayLike, calls: int, odds_ratio: float, false_alarms: float, seed: int = SEED
) -> float:
    """Height that the climb of a series passes by chance alone with a given probability.

    Parameters
    ----------
    expected : array-like of float, shape (n,)
        Chances of coming back of the group's own calls; series are drawn from them.
    calls : int
        Length of a series: the calls of a year, say.
    odds_ratio : float
        The change looked for.
    false_alarms : float
        Share of series, 0..1, in which nothing has changed and the limit is passed all the same.
    seed : int
        Of the draws: the same calls have the same limit.

    Returns
    -------
    float

    Notes
    -----
    By simulation, as Steiner and others (2000) suggest. Below `LONG` calls it is the quantile of the highest
    points. Above, the law that they tend to smooths it, and carries it on from series of `LONGEST` calls to
    longer ones: the steps are log-likelihood ratios, so that the chance of passing h in n calls tends to
    1 - exp(-n c exp(-h)), and exp(-h) of the highest point is exponential with rate n c (Siegmund D (1985),
    Sequential Analysis, chapter 10; from memory). Tests hold it to series drawn apart.
    """
    chance = np.asarray(expected, dtype=np.float64)
    length = min(calls, LONGEST)
    series = min(max(DRAWS // length, FEWEST_SERIES), MOST_SERIES)
    generator = np.random.default_rng(seed)
    whose = generator.integers(len(chance), size=(series, length))
    happened = generator.random((series, length)) < chance[whose]
    steps = happened * np.log(odds_ratio) - np.log1p((odds_ratio - 1) * chance)[whose]
    highest = climb(steps).max(axis=1)
    if calls < LONG:
        return float(np.quantile(highest, 1 - false_alarms))
    rate_of_a_call = series / np.exp(-highest).sum() / length
    return float(np.log(calls * rate_of_a_call / -np.log1p(-false_alarms)))


def excursions(path: ArrayLike, limit: float) -> list[tuple[int, int, int, float]]:
    """Find the times above a limit.

    Parameters
    ----------
    path : array-like of float, shape (n,)
        From `climb`.
    limit : float

    Returns
    -------
    list of (began, crossed, ended, highest)
        `began`: the step after which it rose from zero; `crossed`: the first above the limit; `ended`: the
        first back at zero, n where it has not come back; `highest`: its highest point. What rises above the
        limit again before it was back at zero is the same excursion.

    Examples
    --------
    >>> excursions([0, 1, 2, 1, 2, 0, 1], 1.5)
    [(1, 2, 5, 2.0)]
    """
    height = np.asarray(path, dtype=np.float64)
    zero = np.flatnonzero(height <= 0)
    above = np.flatnonzero(height > limit)
    stretch = np.searchsorted(zero, above)
    found = []
    for which in np.unique(stretch):  # one a signal: few
        crossed = int(above[stretch == which][0])
        began = int(zero[which - 1]) + 1 if which else 0
        ended = int(zero[which]) if which < len(zero) else len(height)
        found.append((began, crossed, ended, float(height[began:ended].max())))
    return found
