"""Control limits for a proportion that is watched over time."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

SIGMAS = 3.0
RUN = 9
"""So many periods in a row on one side of the mean are more than chance: Nelson's second rule."""


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


def one_sided_runs(values: ArrayLike, mean: float, length: int = RUN) -> NDArray[np.bool_]:
    """Mark the periods that belong to a run on one side of the mean.

    Parameters
    ----------
    values : array-like of float, shape (n,)
        Rates in order of time; NaN, and a value on the mean itself, break a run.
    mean : float
        The mean of the chart.
    length : int
        Least length of a run.

    Returns
    -------
    array of bool, shape (n,)

    Notes
    -----
    Nelson LS (1984), The Shewhart control chart: tests for special causes, Journal of Quality Technology
    16:237-239, test 2 (from memory). By chance alone a given nine lie on one side once in 256 times.

    Examples
    --------
    >>> one_sided_runs([1, 2, 2, 2, 0], mean=1.5, length=3).tolist()
    [False, True, True, True, False]
    """
    away = np.asarray(values, dtype=np.float64) - mean
    sides = np.where(np.isnan(away), 0, np.sign(away))
    begins = np.flatnonzero(np.diff(sides, prepend=np.nan) != 0)
    lengths = np.diff(begins, append=len(sides))
    return np.repeat(lengths >= length, lengths) & (sides != 0)
