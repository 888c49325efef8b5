"""Intervals for proportions and standardised counts: thin wrappers that settle the edges."""

import numpy as np
from numpy.typing import ArrayLike, NDArray
from statsmodels.stats.proportion import proportion_confint

CONFIDENCE = 0.95


def wilson(
    numerators: ArrayLike, denominators: ArrayLike, confidence: float = CONFIDENCE
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Wilson score interval of proportions, without continuity correction.

    Parameters
    ----------
    numerators, denominators : array-like of int, shape (n,)
        Counts; numerators <= denominators.
    confidence : float
        Coverage aimed at, 0..1.

    Returns
    -------
    low, high : arrays of float, shape (n,)
        Limits, 0..1. Exactly 0 for a numerator of 0, exactly 1 for a full one; NaN for a denominator of 0.

    Notes
    -----
    Wilson EB (1927); compared with other methods in Newcombe RG (1998), Statistics in Medicine 17:857-872.

    Examples
    --------
    >>> low, high = wilson([81], [263])
    >>> round(float(low[0]), 4), round(float(high[0]), 4)
    (0.2553, 0.3662)
    """
    counted = np.asarray(numerators, dtype=np.float64)
    among = np.asarray(denominators, dtype=np.float64)
    known = among > 0
    low = np.full(counted.shape, np.nan)
    high = np.full(counted.shape, np.nan)
    if known.any():
        low[known], high[known] = proportion_confint(
            counted[known], among[known], alpha=1 - confidence, method="wilson"
        )
    low[known & (counted == 0)] = 0.0
    high[known & (counted == among)] = 1.0
    return low, high
