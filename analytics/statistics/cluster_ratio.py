"""A ratio of two totals over clusters, such as money over returns, with an interval that knows of them."""

from math import exp, sqrt

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from analytics.statistics.design_effect import ClusterSums
from analytics.statistics.intervals import CONFIDENCE


def relative_error(sums: ClusterSums) -> float:
    """Standard error of the ratio x / n, over the ratio.

    Parameters
    ----------
    sums : ClusterSums
        Sums over clusters, of at least two; x above 0. Clusters without any x count too.
    """
    ratio = sums.x / sums.n
    squares = sums.xx - 2 * ratio * sums.nx + ratio * ratio * sums.nn
    return sqrt(max(0.0, sums.clusters / (sums.clusters - 1) * squares)) / sums.x


def ratio_interval(
    sums: ClusterSums, informative: int, confidence: float = CONFIDENCE
) -> tuple[float, float]:
    """Return the limits of the ratio x / n.

    Parameters
    ----------
    sums : ClusterSums
        As for `relative_error`.
    informative : int
        Clusters that have any x, at least 2: how many there are says how well the variance is known.
    confidence : float
        Coverage aimed at, 0..1.

    Notes
    -----
    Variance of the linearised ratio estimator (Cochran WG, Sampling Techniques, 3rd edition 1977, sections
    6.3 and 9A, from memory), with the clusters as sampled; limits symmetric for the logarithm of the ratio,
    with Student's t of the informative clusters less one, since costs lean to the right. Both choices are
    ours, and measured in the tests.

    Examples
    --------
    >>> sums = ClusterSums(clusters=4, n=4, x=40, nn=4, nx=40, xx=600)
    >>> low, high = ratio_interval(sums, informative=4)
    >>> round(low, 1), round(high, 1)
    (2.7, 36.7)
    """
    ratio = sums.x / sums.n
    width = float(stats.t.ppf(0.5 + confidence / 2, max(informative - 1, 1))) * relative_error(sums)
    return ratio * exp(-width), ratio * exp(width)


def ratio_intervals(
    sums: NDArray[np.float64], informative: NDArray[np.int64], confidence: float = CONFIDENCE
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the limits of many ratios at once; see `ratio_interval`.

    Parameters
    ----------
    sums : array of float, shape (r, 6)
        The fields of `ClusterSums`, in their order.
    informative : array of int, shape (r,)
    confidence : float
        Coverage aimed at, 0..1.

    Examples
    --------
    >>> low, high = ratio_intervals(np.array([[4, 4, 40, 4, 40, 600.0]]), np.array([4]))
    >>> low.round(1).tolist(), high.round(1).tolist()
    ([2.7], [36.7])
    """
    clusters, n, x, nn, nx, xx = sums.T
    ratio = x / n
    squares = np.maximum(0.0, xx - 2 * ratio * nx + ratio * ratio * nn)
    error = np.sqrt(clusters / (clusters - 1) * squares) / x
    width = stats.t.ppf(0.5 + confidence / 2, np.maximum(informative - 1, 1)) * error
    return ratio * np.exp(-width), ratio * np.exp(width)
