"""Failures over the time at risk: rates, their ratios, their trend, and ratios within strata."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from analytics.statistics.intervals import CONFIDENCE
from analytics.statistics.standardised import exact_poisson

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Ratio:
    """A ratio with its interval.

    Parameters
    ----------
    ratio, low, high : float
        The ratio and its 95% limits; high is infinite where the group compared with had no failure.
    """

    ratio: float
    low: float
    high: float


@dataclass(frozen=True)
class Trend:
    """A test for trend.

    Parameters
    ----------
    chi2 : float
        Chi-square with one degree of freedom.
    p : float
        Probability of so much by chance, either way.
    rises : bool
        Whether it goes up with the score.
    """

    chi2: float
    p: float
    rises: bool


def incidence(counts: ArrayLike, time: ArrayLike, per: float = 1.0) -> tuple[Floats, Floats, Floats]:
    """Rates of events over time at risk, with exact intervals.

    Parameters
    ----------
    counts : array-like of int, shape (n,)
    time : array-like of float, shape (n,)
        Time at risk; where it is 0 there is no rate (nan).
    per : float
        Units of time that a rate is given per.

    Returns
    -------
    rate, low, high : arrays of float, shape (n,)

    Notes
    -----
    The exact Poisson interval of the count (`exact_poisson`) over the time, which is taken as fixed.

    Examples
    --------
    >>> rate, low, high = incidence([10], [2000.0], per=1000)
    >>> rate.tolist(), low.round(3).tolist(), high.round(3).tolist()
    ([5.0], [2.398], [9.195])
    """
    known = np.where(np.asarray(time, dtype=float) > 0, np.asarray(time, dtype=float), np.nan) / per
    low, high = exact_poisson(counts)
    return np.asarray(counts) / known, low / known, high / known


def rate_ratio(counts: tuple[int, int], time: tuple[float, float]) -> Ratio | None:
    """Ratio of the first rate to the second, with its exact interval.

    Parameters
    ----------
    counts : (int, int)
    time : (float, float)
        Time at risk of each.

    Returns
    -------
    Ratio or None
        None where either has no time at risk, or neither an event.

    Notes
    -----
    Given the events of both, those of the first are binomial (Przyborowski J, Wilenski H (1940), Biometrika
    31:313-323, from memory); the interval is that of Clopper and Pearson, carried over.

    Examples
    --------
    >>> found = rate_ratio((32, 2), (52407, 18790))
    >>> round(found.ratio, 4), round(found.low, 4), round(found.high, 3)
    (5.7366, 1.4636, 49.405)
    """
    (a, b), (of_a, of_b) = counts, time
    if not of_a or not of_b or not a + b:
        return None
    tail, odds = (1 - CONFIDENCE) / 2, of_b / of_a
    low = stats.beta.ppf(tail, a, b + 1) if a else 0.0
    high = stats.beta.ppf(1 - tail, a + 1, b) if b else 1.0
    above = np.inf if high == 1 else high / (1 - high) * odds
    ratio = a / b * odds if b else np.inf
    return Ratio(float(ratio), float(low / (1 - low) * odds), float(above))


def trend_of_rates(counts: ArrayLike, time: ArrayLike, scores: ArrayLike) -> Trend | None:
    """Test whether rates rise or fall with a score.

    Parameters
    ----------
    counts, time, scores : array-like, shape (n,)
        Events, time at risk, and the score of each group.

    Returns
    -------
    Trend or None
        None without events, or with fewer than two scores at risk.

    Notes
    -----
    Score test of the slope of a log-linear Poisson model: Breslow NE, Day NE (1987), Statistical Methods in
    Cancer Research II, chapter 3 (from memory), without correction for continuity.

    Examples
    --------
    >>> found = trend_of_rates([2, 7, 15], [40.0, 50.0, 48.0], [0, 1, 2])
    >>> round(found.chi2, 3), found.rises
    (8.852, True)
    """
    d, t, x = (np.asarray(each, dtype=float) for each in (counts, time, scores))
    events, whole = d.sum(), t.sum()
    if not events or not whole:
        return None
    share = t / whole
    variance = events * ((share * x**2).sum() - (share * x).sum() ** 2)
    if variance <= 0:
        return None
    return _trend(float((x * (d - events * share)).sum()), float(variance))


def trend_of_shares(counts: ArrayLike, totals: ArrayLike, scores: ArrayLike) -> Trend | None:
    """Test whether shares rise or fall with a score.

    Parameters
    ----------
    counts, totals, scores : array-like, shape (n,)

    Returns
    -------
    Trend or None
        None where all or none were counted, or with fewer than two scores.

    Notes
    -----
    Cochran WG (1954), Biometrics 10:417-451; Armitage P (1955), Biometrics 11:375-386 (both from memory),
    with the variance over N, not N - 1.

    Examples
    --------
    >>> round(trend_of_shares([2, 7, 15], [40, 50, 48], [0, 1, 2]).chi2, 5)
    10.71571
    """
    d, n, x = (np.asarray(each, dtype=float) for each in (counts, totals, scores))
    whole = n.sum()
    share = d.sum() / whole if whole else 0.0
    if not 0 < share < 1:
        return None
    variance = share * (1 - share) * ((n * x**2).sum() - (n * x).sum() ** 2 / whole)
    return _trend(float((x * (d - n * share)).sum()), float(variance)) if variance > 0 else None


def _trend(excess: float, variance: float) -> Trend:
    chi2 = excess**2 / variance
    return Trend(chi2, float(stats.chi2.sf(chi2, 1)), excess > 0)


def mantel_haenszel_rates(counts: ArrayLike, time: ArrayLike) -> Ratio | None:
    """Rate ratio of two groups that strata have in common.

    Parameters
    ----------
    counts : array-like of int, shape (strata, 2)
        Events of the first and the second group.
    time : array-like of float, shape (strata, 2)
        Their time at risk. Strata in which a group was not at risk say nothing and are left out.

    Returns
    -------
    Ratio or None
        None where no stratum says anything, or the ratio would be none or without end.

    Notes
    -----
    Rothman KJ, Greenland S, Lash TL (2008), Modern Epidemiology, 3rd edition, chapter 15; variance of its
    logarithm: Greenland S, Robins JM (1985), Biometrics 41:55-68 (both from memory).

    Examples
    --------
    >>> found = mantel_haenszel_rates([[20, 10], [5, 10]], [[100, 100], [25, 100]])
    >>> round(found.ratio, 2)
    2.0
    """
    d, t = np.asarray(counts, dtype=float), np.asarray(time, dtype=float)
    told = (t > 0).all(axis=1)
    d, t = d[told], t[told]
    whole = t.sum(axis=1)
    above, below = (d[:, 0] * t[:, 1] / whole).sum(), (d[:, 1] * t[:, 0] / whole).sum()
    if not above or not below:
        return None
    variance = (d.sum(axis=1) * t[:, 0] * t[:, 1] / whole**2).sum() / (above * below)
    width = stats.norm.ppf(0.5 + CONFIDENCE / 2) * np.sqrt(variance)
    ratio = above / below
    return Ratio(float(ratio), float(ratio * np.exp(-width)), float(ratio * np.exp(width)))
