"""How long until something happens, when many have not been watched long enough to tell."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from analytics.statistics.intervals import CONFIDENCE

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Curve:
    """Cumulative incidence: the share to which it has happened by each time.

    Parameters
    ----------
    time : array of float, shape (n,)
        Times at which it happened to somebody, rising; same unit as given.
    share, low, high : array of float, shape (n,)
        Share by then and its 95% interval, 0..1.
    error : array of float, shape (n,)
        Standard error of the share.
    at_risk : array of int, shape (n,)
        Followed until just before, without its having happened.
    """

    time: Floats
    share: Floats
    low: Floats
    high: Floats
    error: Floats
    at_risk: NDArray[np.int64]


def cumulative_incidence(
    time: ArrayLike,
    happened: ArrayLike,
    competing: ArrayLike,
    censored: ArrayLike,
    variance_factor: float = 1.0,
) -> Curve:
    """Share to which it has happened by each time, in the presence of competing events.

    Aalen-Johansen; without competing events it is one minus Kaplan-Meier. What happens at a time comes before
    the censorings of that time.

    Parameters
    ----------
    time : array of float, shape (n,)
        Distinct times, rising.
    happened, competing, censored : array of int, shape (n,)
        How many it happened to, to how many something else that ends the wait, and how many were followed no
        further, at each time.
    variance_factor : float
        Factor of the variance where observations are not independent: the design effect.

    Returns
    -------
    Curve

    Notes
    -----
    Variance by the delta method as in Marubini E, Valsecchi MG (1995), Analysing Survival Data from Clinical
    Trials and Observational Studies, section 10.3 (from memory); without competing events it is Greenwood's.
    The interval is symmetric for log(-log(1 - share)), as usual for Kaplan-Meier.
    """
    times = np.asarray(time, dtype=float)
    ours, others = np.asarray(happened, dtype=float), np.asarray(competing, dtype=float)
    leaving = ours + others + np.asarray(censored, dtype=float)
    at_risk = leaving[::-1].cumsum()[::-1]
    kept = ours + others > 0
    times, ours, n = times[kept], ours[kept], at_risk[kept]
    both = ours + others[kept]
    free = np.concatenate([[1.0], np.cumprod(1 - both / n)])[:-1]
    share = np.cumsum(free * ours / n)
    variance = _variance(share, free, n, both, ours) * variance_factor
    error = np.sqrt(variance)
    low, high = _interval(share, error)
    shown = ours > 0
    return Curve(times[shown], share[shown], low[shown], high[shown], error[shown], n[shown].astype(np.int64))


def _variance(share: Floats, free: Floats, n: Floats, both: Floats, ours: Floats) -> Floats:
    """Delta-method variance at each time; sums over earlier times, written out so that they take one pass."""
    with np.errstate(divide="ignore", invalid="ignore"):
        greenwood = np.where(n > both, both / (n * (n - both)), 0.0)
    own = free**2 * ours * (n - ours) / n**3
    cross = free * ours / n**2
    first = share**2 * np.cumsum(greenwood)
    first += -2 * share * np.cumsum(greenwood * share) + np.cumsum(greenwood * share**2)
    third = share * np.cumsum(cross) - np.cumsum(share * cross)
    return np.maximum(first + np.cumsum(own) - 2 * third, 0.0)


def _interval(share: Floats, error: Floats) -> tuple[Floats, Floats]:
    z = stats.norm.ppf(0.5 + CONFIDENCE / 2)
    left = 1 - share
    with np.errstate(divide="ignore", invalid="ignore"):
        step = np.exp(z * error / (left * np.log(left)))  # below one: the logarithm is negative
        low, high = 1 - left**step, 1 - left ** (1 / step)
    unknown = (share <= 0) | (share >= 1)
    return np.where(unknown, share, low), np.where(unknown, share, high)


@dataclass(frozen=True)
class LogRank:
    """Whether groups differ in how soon it happens.

    Parameters
    ----------
    chi_square : float
        The statistic.
    degrees : int
        Its degrees of freedom: groups that it can happen to, minus one.
    p : float
        Probability of one as large or larger where the groups do not differ.
    """

    chi_square: float
    degrees: int
    p: float


def log_rank(happened: ArrayLike, leaving: ArrayLike) -> LogRank | None:
    """Log-rank test of groups; competing events count as censorings, so that it compares hazards.

    Parameters
    ----------
    happened : array of int, shape (times, groups)
        How many it happened to, at each of the rising times.
    leaving : array of int, shape (times, groups)
        How many left the risk at that time: those, competing events and censorings.

    Returns
    -------
    LogRank or None
        None with fewer than two groups that anything could happen to.

    Notes
    -----
    Mantel N (1966), Cancer Chemotherapy Reports 50:163-170, for several groups as in Kalbfleisch and Prentice
    (2002), The Statistical Analysis of Failure Time Data, section 1.4 (both from memory).
    """
    d = np.asarray(happened, dtype=float)
    n = np.asarray(leaving, dtype=float)[::-1].cumsum(axis=0)[::-1]
    d, n = d[:, n[0] > 0], n[:, n[0] > 0]
    groups = d.shape[1]
    all_d, all_n = d.sum(axis=1), n.sum(axis=1)
    at = all_d > 0
    d, n, all_d, all_n = d[at], n[at], all_d[at], all_n[at]
    if groups < 2 or not len(all_d):
        return None
    shares = n / all_n[:, None]
    weight = all_d * np.where(all_n > 1, (all_n - all_d) / np.maximum(all_n - 1, 1), 0.0)
    covariance = np.diag((weight[:, None] * shares).sum(axis=0)) - (shares * weight[:, None]).T @ shares
    difference = (d - shares * all_d[:, None]).sum(axis=0)
    statistic = float(difference[:-1] @ np.linalg.pinv(covariance[:-1, :-1]) @ difference[:-1])
    return LogRank(statistic, groups - 1, float(stats.chi2.sf(statistic, groups - 1)))
