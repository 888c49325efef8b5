"""Observed counts against expected ones: ratios with their intervals, and how far chance explains them."""

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats
from scipy.special import gammainc, gammaincc

from analytics.statistics.intervals import CONFIDENCE

Floats = NDArray[np.float64]


def exact_poisson(counts: ArrayLike, confidence: float = CONFIDENCE) -> tuple[Floats, Floats]:
    """Exact interval of the mean behind a Poisson count.

    Parameters
    ----------
    counts : array-like of int, shape (n,)
    confidence : float
        Coverage aimed at, 0..1; the interval covers at least so often.

    Returns
    -------
    low, high : arrays of float, shape (n,)
        Exactly 0 below a count of 0.

    Notes
    -----
    Garwood F (1936), Biometrika 28:437-442; in chi-square form Ulm K (1990), American Journal of Epidemiology
    131:373-375.

    Examples
    --------
    >>> low, high = exact_poisson([0, 10])
    >>> low.round(3).tolist(), high.round(3).tolist()
    ([0.0, 4.795], [3.689, 18.39])
    """
    k = np.asarray(counts, dtype=np.float64)
    tail = (1 - confidence) / 2
    low = np.where(k > 0, stats.chi2.ppf(tail, 2 * np.maximum(k, 0.5)) / 2, 0.0)
    return low, stats.chi2.ppf(1 - tail, 2 * k + 2) / 2


def byar(
    counts: ArrayLike, expected: ArrayLike, z: float = stats.norm.ppf(0.5 + CONFIDENCE / 2)
) -> tuple[Floats, Floats]:
    """Approximate interval of observed over expected; a check on the exact one, close from counts of 5 up.

    Parameters
    ----------
    counts, expected : array-like, shape (n,)
    z : float
        Standard normal quantile of the upper limit.

    Notes
    -----
    Byar's approximation: Breslow NE, Day NE (1987), Statistical Methods in Cancer Research II, chapter 2.

    Examples
    --------
    >>> low, high = byar([100], [90], z=1.96)
    >>> round(float(low[0]), 6), round(float(high[0]), 6)
    (0.90402, 1.351426)
    """
    k, e = np.asarray(counts, dtype=np.float64), np.asarray(expected, dtype=np.float64)
    with np.errstate(divide="ignore", invalid="ignore"):
        low = np.where(k > 0, k * (1 - 1 / (9 * k) - z / (3 * np.sqrt(k))) ** 3 / e, 0.0)
    above = k + 1
    return low, above * (1 - 1 / (9 * above) + z / (3 * np.sqrt(above))) ** 3 / e


def log_interval(ratio: ArrayLike, error: ArrayLike, confidence: float = CONFIDENCE) -> tuple[Floats, Floats]:
    """Interval of a ratio that is symmetric for its logarithm.

    Parameters
    ----------
    ratio, error : array-like of float, shape (n,)
        The ratio, and the standard error of its logarithm.
    confidence : float
        Coverage aimed at, 0..1.
    """
    r, width = np.asarray(ratio, dtype=float), stats.norm.ppf(0.5 + confidence / 2) * np.asarray(error)
    return r * np.exp(-width), r * np.exp(width)


def more_than(observed: ArrayLike, expected: ArrayLike, dispersion: ArrayLike = 1.0) -> Floats:
    """Probability of so many or more by chance.

    Parameters
    ----------
    observed, expected : array-like, shape (n,)
    dispersion : array-like of float, shape (n,) or one number
        Variance over that of a Poisson count; at least 1. Both are divided by it.

    Notes
    -----
    The upper tail of a Poisson count, as the incomplete gamma function, which carries it to counts that are
    no whole numbers; dividing by the dispersion as in quasi-likelihood (McCullagh P, Nelder JA (1989),
    Generalized Linear Models, 2nd edition, chapter 9, from memory). A count of returns varies a little less
    than a Poisson count, so that the probability is a little too large.

    Examples
    --------
    >>> round(float(more_than([3], [1.0])[0]), 4)
    0.0803
    """
    o, e = np.asarray(observed, dtype=float), np.asarray(expected, dtype=float)
    scale = np.maximum(np.asarray(dispersion, dtype=float), 1.0)
    return np.where(o > 0, gammainc(np.maximum(o, 1e-300) / scale, e / scale), 1.0)


def two_sided_poisson(observed: ArrayLike, expected: ArrayLike) -> Floats:
    """Probability of a count so far from what is expected, to either side: twice the smaller tail."""
    o, e = np.asarray(observed, dtype=float), np.asarray(expected, dtype=float)
    fewer = gammaincc(o + 1, e)
    return np.minimum(1.0, 2 * np.minimum(more_than(o, e), fewer))


def dispersion(residuals: ArrayLike, variances: ArrayLike, clusters: ArrayLike) -> float:
    """How much more counts of clustered calls vary than those of independent ones; never below 1.

    Parameters
    ----------
    residuals : array-like of float, shape (calls,)
        Whether it happened (0 or 1) minus the expected share.
    variances : array-like of float, shape (calls,)
        Variance of each were calls independent: expected share times one minus it.
    clusters : array-like of int, shape (calls,)
        Which calls hang together.

    Notes
    -----
    Cluster-robust variance of a sum over that of independent calls (Liang KY, Zeger SL (1986), Biometrika
    73:13-22, from memory), pooled over all clusters: a group's own would be too unsteady to test it with.
    """
    numbered = np.unique(np.asarray(clusters), return_inverse=True)[1]
    sums = np.bincount(numbered, weights=np.asarray(residuals, dtype=float))
    total = float(np.sum(variances))
    return max(1.0, float(sums @ sums) / total) if total else 1.0
