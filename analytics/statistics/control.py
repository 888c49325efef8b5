"""Control limits for a proportion that is watched over time."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

SIGMAS = 3.0


def p_chart(
    numerators: ArrayLike, denominators: ArrayLike
) -> tuple[float, NDArray[np.float64], NDArray[np.float64]]:
    """Three-sigma limits of a p-chart with varying sample sizes.

    Parameters
    ----------
    numerators, denominators : array-like of int, shape (n,)
        Counts of each period; a denominator of 0 has no limits.

    Returns
    -------
    mean : float
        Pooled ratio of all periods, not the mean of their ratios; NaN without any call.
    low, high : arrays of float, shape (n,)
        Limits, cut to 0..1; NaN for a denominator of 0.

    Notes
    -----
    mean +- 3 sqrt(mean (1 - mean) / n), binomial. Montgomery DC, Introduction to Statistical Quality Control,
    2nd edition 1991, pp. 152-155.

    Examples
    --------
    >>> mean, low, high = p_chart([12, 15, 8], [50, 50, 50])
    >>> round(mean, 4), round(float(low[0]), 4), round(float(high[0]), 4)
    (0.2333, 0.0539, 0.4128)
    """
    counted = np.asarray(numerators, dtype=np.float64)
    among = np.asarray(denominators, dtype=np.float64)
    total = among.sum()
    mean = float(counted.sum() / total) if total else float("nan")
    with np.errstate(divide="ignore", invalid="ignore"):
        half_width = np.where(among > 0, SIGMAS * np.sqrt(mean * (1 - mean) / among), np.nan)
    return mean, np.clip(mean - half_width, 0, 1), np.clip(mean + half_width, 0, 1)
