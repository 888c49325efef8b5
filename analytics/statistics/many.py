"""Many comparisons at once: how sure to be of each, when some would stand out by chance."""

import numpy as np
from numpy.typing import ArrayLike, NDArray
from statsmodels.stats.multitest import multipletests


def false_discovery(p: ArrayLike) -> NDArray[np.float64]:
    """Adjust p values so that of those below a level, that share is false at most, on average.

    Parameters
    ----------
    p : array-like of float, shape (n,)

    Returns
    -------
    array of float, shape (n,)

    Notes
    -----
    Benjamini Y, Hochberg Y (1995), Journal of the Royal Statistical Society B 57:289-300. Computed by
    statsmodels.

    Examples
    --------
    >>> false_discovery([0.01, 0.04, 0.5]).round(3).tolist()
    [0.03, 0.06, 0.5]
    """
    values = np.asarray(p, dtype=float)
    return np.asarray(multipletests(values, method="fdr_bh")[1]) if len(values) else values
