"""Counts that vary more than chance because units differ: the gamma-Poisson (negative binomial) model."""

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.stats import nbinom, poisson


def gamma_dispersion(counts: ArrayLike, expected: ArrayLike) -> float:
    """Return the variance of the hidden factor by which units multiply what is expected of them.

    Parameters
    ----------
    counts : array-like of int, shape (n,)
        Events of each unit.
    expected : array-like of float, shape (n,)
        Events expected of each.

    Returns
    -------
    float
        0 where counts vary no more than Poisson ones; 1 means a factor as spread as an exponential one.

    Notes
    -----
    By moments: the variance of a count is m + v m^2, so v = sum((x - m)^2 - m) / sum(m^2), not below 0.
    Breslow NE (1984), Applied Statistics 33:38-44, has the model; this estimator with equal weights is from
    memory. Units that stand far out raise it, which makes the test below more careful.

    Examples
    --------
    >>> gamma_dispersion([0, 0, 4, 0], [1, 1, 1, 1])
    2.0
    """
    seen, mean = np.asarray(counts, np.float64), np.asarray(expected, np.float64)
    squares = float(np.sum(mean**2))
    return max(0.0, float(np.sum((seen - mean) ** 2 - mean)) / squares) if squares else 0.0


def upper_tail(counts: ArrayLike, expected: ArrayLike, dispersion: float) -> NDArray[np.float64]:
    """Return the chance of so many events or more.

    Parameters
    ----------
    counts : array-like of int, shape (n,)
        Events of each unit.
    expected : array-like of float, shape (n,)
        Events expected of each.
    dispersion : float
        Variance of the hidden factor, as from `gamma_dispersion`; 0 for Poisson counts.

    Returns
    -------
    array of float, shape (n,)

    Notes
    -----
    Greenwood M, Yule GU (1920), Journal of the Royal Statistical Society 83:255-279: a Poisson count whose
    mean is gamma distributed is negative binomial. Computed by SciPy.

    Examples
    --------
    >>> upper_tail([0, 3], [1.0, 1.0], 0.0).round(4).tolist()
    [1.0, 0.0803]
    >>> upper_tail([3], [1.0], 1.0).round(4).tolist()
    [0.125]
    """
    seen, mean = np.asarray(counts, np.float64), np.asarray(expected, np.float64)
    if dispersion <= 0:
        return np.asarray(poisson.sf(seen - 1, mean))
    shape = 1 / dispersion
    return np.asarray(nbinom.sf(seen - 1, shape, shape / (shape + mean)))
