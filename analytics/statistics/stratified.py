"""Two groups compared within strata, so that a difference in their mix does not pass for one between them."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from statsmodels.stats.contingency_tables import StratifiedTable

from analytics.statistics.intervals import CONFIDENCE


@dataclass(frozen=True)
class CommonOdds:
    """Odds ratio that strata have in common.

    Parameters
    ----------
    ratio, low, high : float
        Odds of the first group over those of the second, and its 95% interval.
    """

    ratio: float
    low: float
    high: float


def mantel_haenszel(tables: ArrayLike) -> CommonOdds | None:
    """Common odds ratio of two groups over strata.

    Parameters
    ----------
    tables : array-like of int, shape (strata, 2, 2)
        One table a stratum: rows the groups, columns happened and did not. Strata with an empty row or column
        say nothing and are left out.

    Returns
    -------
    CommonOdds or None
        None where no stratum says anything, or the ratio would be none or without end.

    Notes
    -----
    Mantel N, Haenszel W (1959), Journal of the National Cancer Institute 22:719-748; interval of Robins J,
    Breslow N, Greenland S (1986), Biometrics 42:311-323 (both from memory). Computed by statsmodels.

    Examples
    --------
    >>> round(mantel_haenszel([[[20, 80], [10, 90]], [[5, 20], [10, 90]]]).ratio, 2)
    2.25
    """
    counted = np.asarray(tables, dtype=float)
    told = (counted.sum(axis=1) > 0).all(axis=1) & (counted.sum(axis=2) > 0).all(axis=1)
    if not told.any():
        return None
    counts = counted[told]
    total = counts.sum(axis=(1, 2))
    for_it = (counts[:, 0, 0] * counts[:, 1, 1] / total).sum()
    against = (counts[:, 0, 1] * counts[:, 1, 0] / total).sum()
    if not for_it or not against:
        return None
    found = StratifiedTable(list(counts))
    low, high = found.oddsratio_pooled_confint(alpha=1 - CONFIDENCE)
    return CommonOdds(float(found.oddsratio_pooled), float(low), float(high))
