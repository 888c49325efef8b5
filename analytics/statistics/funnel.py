"""Funnel plot: between which limits groups of different sizes lie by chance alone."""

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

Floats = NDArray[np.float64]
LIMITS = (0.025, 0.975, 0.001, 0.999)
"""Probabilities of the limits drawn: 95% and 99.8% of groups lie between them by chance."""
WINSORISED = 0.1


def binomial_limits(sizes: ArrayLike, target: float, probability: float, spread: float = 1.0) -> Floats:
    """Exact limits of a share, interpolated between whole counts.

    Parameters
    ----------
    sizes : array-like of int, shape (n,)
        Calls of a group.
    target : float
        The share that groups are held against, 0..1.
    probability : float
        How likely a group is to lie below the limit by chance.
    spread : float
        By how much groups vary more than chance alone has them: square root of `over_dispersion`; limits are
        moved away from the target by so much.

    Returns
    -------
    array of float, shape (n,)
        Not cut to 0..1: an interpolated lower limit can fall below 0.

    Notes
    -----
    Spiegelhalter DJ (2005), Statistics in Medicine 24:1185-1202, appendix (from memory); other exact limits
    are compared in Manktelow BN, Seaton SE (2012), PLOS ONE 7(9):e45723.

    Examples
    --------
    >>> round(float(binomial_limits([100], 0.15, 0.975)[0]), 6)
    0.218332
    """
    n = np.asarray(sizes, dtype=np.int64)
    r = stats.binom.ppf(probability, n, target)
    at, below = stats.binom.cdf(r, n, target), stats.binom.cdf(r - 1, n, target)
    limit = (r - (at - probability) / (at - below)) / n
    return np.asarray(target + spread * (limit - target), dtype=np.float64)


def over_dispersion(z: ArrayLike) -> float:
    """How much more groups differ than chance has them, leaving out what the extreme ones add; at least 1.

    Parameters
    ----------
    z : array-like of float, shape (groups,)
        Each group's deviation over its standard error.

    Notes
    -----
    Mean square of z after the tenth at each end is pulled in (winsorised): Spiegelhalter (2005), section 5.3
    (from memory).

    Examples
    --------
    >>> over_dispersion([0.5, -0.5, 0.2, -0.3] * 5 + [9.0])
    1.0
    """
    values = np.asarray(z, dtype=float)
    if not len(values):
        return 1.0
    low, high = np.quantile(values, [WINSORISED, 1 - WINSORISED])
    return max(1.0, float(np.mean(np.clip(values, low, high) ** 2)))
