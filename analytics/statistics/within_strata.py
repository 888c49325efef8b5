"""A difference between two groups within strata, with an interval that knows of clusters."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from analytics.statistics.intervals import CONFIDENCE

FEWEST_CLUSTERS = 5
"""Clusters that say something, below which no interval is given: it would be a guess (our convention)."""


@dataclass(frozen=True)
class Difference:
    """A difference with strata held equal.

    Parameters
    ----------
    value : float
        Mean of the first group less that of the second.
    low, high, p : float or None
        Its 95% interval, and the chance of one as far from none; None with too few clusters.
    rows : int
        Rows in strata that hold both groups: the others say nothing.
    clusters : int
        Clusters that say something, of the clustering that makes the interval widest.
    """

    value: float
    low: float | None
    high: float | None
    p: float | None
    rows: int
    clusters: int


def difference_within(
    values: ArrayLike,
    first: ArrayLike,
    strata: ArrayLike,
    clusterings: Sequence[ArrayLike] = (),
) -> Difference | None:
    """Difference of means between two groups within strata.

    Parameters
    ----------
    values : array-like of float, shape (n,)
        0 or 1 for a difference of shares.
    first : array-like of bool, shape (n,)
        Whether the row is of the first group.
    strata : array-like of int, shape (n,)
        Numbers from 0.
    clusterings : sequence of array-like of int, each of shape (n,)
        Numbers from 0: which rows hang together. With several, the widest interval is taken; with none, rows
        are taken for independent.

    Returns
    -------
    Difference or None
        None where no stratum holds both groups.

    Notes
    -----
    Differences of strata weighted by n1 n0 / n: for shares the risk difference of Mantel and Haenszel
    (Greenland S, Robins JM (1985), Biometrics 41:55-68, from memory), which is least squares with an
    intercept for each stratum. Variance: sums of scores over clusters, times G / (G - 1) (Liang KY, Zeger SL
    (1986), Biometrika 73:13-22, from memory), with Student's t of G - 1, G the clusters with any row in a
    stratum that holds both groups.

    Examples
    --------
    >>> found = difference_within([1, 0, 0, 0, 1, 1, 1, 0], [1, 1, 0, 0] * 2, [0] * 4 + [1] * 4)
    >>> found.value, found.rows
    (0.5, 8)
    """
    y, x = np.asarray(values, dtype=float), np.asarray(first, dtype=float)
    s = np.asarray(strata, dtype=np.int64)
    n = np.bincount(s).astype(float)
    ones = np.bincount(s, weights=x, minlength=len(n))
    both = (ones > 0) & (ones < n)
    kept = both[s] if len(s) else np.zeros(0, dtype=bool)
    weight = float((ones * (n - ones))[both] @ (1 / n[both]))
    if not weight:
        return None
    y, x, s = y[kept], x[kept], s[kept]
    away = x - (ones / np.maximum(n, 1))[s]
    mean = np.bincount(s, weights=y, minlength=len(n)) / np.maximum(n, 1)
    value = float(away @ y) / weight
    scores = away * (y - mean[s] - value * away)
    widest: tuple[float, float, int] | None = None
    fewest = len(y)
    for clusters in [np.asarray(each)[kept] for each in clusterings] or [np.arange(len(y))]:
        error, many = _error(scores, clusters, weight)
        fewest = min(fewest, many)
        if many >= FEWEST_CLUSTERS:
            reach = float(stats.t.ppf(0.5 + CONFIDENCE / 2, many - 1)) * error
            widest = max(widest or (0.0, 0.0, many), (reach, error, many))
    if widest is None or fewest < FEWEST_CLUSTERS:
        return Difference(value, None, None, None, len(y), fewest)
    reach, error, many = widest
    p = 2 * float(stats.t.sf(abs(value) / error, many - 1)) if error else float(value == 0)
    return Difference(value, value - reach, value + reach, p, len(y), many)


def _error(scores: NDArray[np.float64], clusters: NDArray[np.generic], weight: float) -> tuple[float, int]:
    """Return the standard error, and how many clusters there are."""
    numbers = np.asarray(clusters, dtype=np.int64)
    sums = np.bincount(numbers, weights=scores)
    many = int(np.count_nonzero(np.bincount(numbers)))
    if many < 2:
        return 0.0, many
    return float(np.sqrt(many / (many - 1) * (sums @ sums))) / weight, many
