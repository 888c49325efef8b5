"""Rates compared with everything else held equal: log-linear Poisson regression."""

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from analytics.statistics.incidence import Ratio
from analytics.statistics.intervals import CONFIDENCE

Floats = NDArray[np.float64]

_ROUNDS = 50
_CLOSE = 1e-9


def adjusted_ratios(
    counts: ArrayLike, time: ArrayLike, asked: NDArray[np.float64], beside: NDArray[np.float64]
) -> list[Ratio]:
    """Rate ratios of some columns, with others held equal.

    Parameters
    ----------
    counts, time : array-like, shape (n,)
        Events and time at risk of each cell; cells without time are left out.
    asked : array of float, shape (n, k)
        Columns whose ratio is wanted, 0 or 1; the cells with none of them are compared with.
    beside : array of float, shape (n, m)
        Columns to hold equal, without an intercept; those that follow from others are no harm.

    Returns
    -------
    list of Ratio
        One a column of `asked`; empty where nothing failed or the fit does not settle.

    Notes
    -----
    Iteratively reweighted least squares (McCullagh P, Nelder JA (1989), Generalized Linear Models, 2nd
    edition, chapter 2, from memory); where cells vary more than Poisson counts do, standard errors are
    widened by the square root of Pearson's statistic over its degrees of freedom (quasi-likelihood,
    chapter 9).

    Examples
    --------
    >>> asked, beside = np.array([[1.0], [0], [1], [0]]), np.array([[0.0], [0], [1], [1]])
    >>> found = adjusted_ratios([20, 10, 5, 10], [100.0, 100, 25, 100], asked, beside)
    >>> round(found[0].ratio, 3)
    2.0
    """
    t = np.asarray(time, dtype=float)
    seen = t > 0
    d = np.asarray(counts, dtype=float)[seen]
    design = np.hstack([asked[seen], np.ones((len(d), 1)), beside[seen]])
    found = log_linear(d, t[seen], design)
    if found is None:
        return []
    effects, mean = found
    freedom = len(d) - np.linalg.matrix_rank(design)
    spread = max(1.0, float(((d - mean) ** 2 / mean).sum()) / freedom) if freedom > 0 else 1.0
    wanted = asked.shape[1]
    information = design.T @ (mean[:, None] * design)
    error = np.sqrt(np.diag(np.linalg.pinv(information, hermitian=True))[:wanted] * spread)
    width = stats.norm.ppf(0.5 + CONFIDENCE / 2) * error
    return [
        Ratio(float(np.exp(effect)), float(np.exp(effect - wide)), float(np.exp(effect + wide)))
        for effect, wide in zip(effects[:wanted], width, strict=True)
    ]


def log_linear(counts: Floats, time: Floats, design: Floats) -> tuple[Floats, Floats] | None:
    """Fit the logarithm of a rate as a sum of effects.

    Parameters
    ----------
    counts, time : array of float, shape (n,)
        Events, and time at risk above 0.
    design : array of float, shape (n, k)
        Columns that follow from others are no harm: the smallest effects are taken.

    Returns
    -------
    effects, means : arrays of float, shapes (k,) and (n,), or None
        Effects, and the events to be expected of each row; None where nothing failed or the fit does not
        settle.
    """
    if not counts.sum():
        return None
    mean = np.maximum(counts, 0.5)
    effects = np.zeros(design.shape[1])
    for _ in range(_ROUNDS):
        working = np.log(mean / time) + (counts - mean) / mean
        information = design.T @ (mean[:, None] * design)
        inverse = np.linalg.pinv(information, hermitian=True)
        before, effects = effects, inverse @ (design.T @ (mean * working))
        mean = time * np.exp(np.clip(design @ effects, -30, 30))
        if np.abs(effects - before).max() < _CLOSE:
            return effects, mean
    return None
