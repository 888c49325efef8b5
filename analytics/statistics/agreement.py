"""How far two namings of the same things agree, beyond what chance would bring."""

from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import ArrayLike
from scipy import stats
from statsmodels.stats.inter_rater import cohens_kappa

from analytics.statistics.intervals import CONFIDENCE


@dataclass(frozen=True)
class Agreement:
    """Cohen's kappa: 1 for full agreement, 0 for what chance alone would bring.

    Parameters
    ----------
    kappa, low, high : float
        The measure and its 95% interval.
    things : int
        How many were named twice.
    """

    kappa: float
    low: float
    high: float
    things: int


def kappa(counts: ArrayLike, design_effect: float | None = None) -> Agreement | None:
    """Agreement of two namings beyond chance.

    Parameters
    ----------
    counts : array-like of int, shape (n, n)
        Rows: the first name; columns: the second, in the same order.
    design_effect : float, optional
        Variance of the share that agrees with things of one cluster taken together, over that of independent
        ones; the variance is multiplied by it where it is above 1.

    Returns
    -------
    Agreement or None
        None without anything named, or where both name one thing alone.

    Notes
    -----
    Cohen J (1960), Educational and Psychological Measurement 20:37-46; large-sample variance of Fleiss JL,
    Cohen J, Everitt BS (1969), Psychological Bulletin 72:323-327 (both from memory). Computed by statsmodels.

    Examples
    --------
    >>> found = kappa([[7, 1, 0], [0, 8, 0], [0, 0, 2]])
    >>> round(found.kappa, 3)
    0.906
    """
    table = np.asarray(counts, dtype=float)
    total = table.sum()
    by_chance = float(table.sum(axis=0) @ table.sum(axis=1)) / total**2 if total else 1.0
    if by_chance >= 1:
        return None
    with np.errstate(divide="ignore", invalid="ignore"):  # of a test that is not asked for
        found = cohens_kappa(table)
    error = sqrt(max(float(found.var_kappa), 0.0) * max(design_effect or 1.0, 1.0))
    width = float(stats.norm.ppf(0.5 + CONFIDENCE / 2)) * error
    value = float(found.kappa)
    return Agreement(value, max(value - width, -1.0), min(value + width, 1.0), round(total))
