"""Estimates of many groups, pulled towards their mean as far as chance explains their differences."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
MOST_ROUNDS = 200


def shrunk(estimates: ArrayLike, variances: ArrayLike) -> tuple[Floats, float]:
    """Pull estimates towards their weighted mean.

    Parameters
    ----------
    estimates : array-like of float, shape (groups,)
    variances : array-like of float, shape (groups,)
        Sampling variance of each, above 0.

    Returns
    -------
    estimates : array of float, shape (groups,)
        Each lies between its own value and the mean; as given with fewer than four groups.
    between : float
        Variance between groups beyond chance.

    Notes
    -----
    Parametric empirical Bayes with normal groups: Morris CN (1983), Journal of the American Statistical
    Association 78:47-55 (from memory); with equal variances it is the estimator of Efron B, Morris C (1975),
    Journal of the American Statistical Association 70:311-319.
    """
    x, v = np.asarray(estimates, dtype=float), np.asarray(variances, dtype=float)
    groups = len(x)
    if groups < 4:
        return x, 0.0
    between = 0.0
    for _ in range(MOST_ROUNDS):
        weight = 1 / (v + between)
        mean = (weight @ x) / weight.sum()
        excess = groups / (groups - 1) * (x - mean) ** 2 - v
        again = max(0.0, float(weight @ excess) / weight.sum())
        if abs(again - between) <= 1e-10 * (1e-10 + between):
            break
        between = again
    weight = 1 / (v + between)
    mean = (weight @ x) / weight.sum()
    pull = (groups - 3) / (groups - 1) * v * weight
    return mean + (1 - pull) * (x - mean), between
