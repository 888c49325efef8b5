"""Means over rows that hang together in clusters, with intervals by a bootstrap over the clusters."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analytics.statistics.intervals import CONFIDENCE

REPLICATES = 1000
SEED = 20_261_127
DRAWS_AT_ONCE = 4_000_000


@dataclass(frozen=True)
class Mean:
    """A mean with its 95% interval, and how many rows it is of."""

    value: float
    low: float
    high: float
    rows: int

    @property
    def above_zero(self) -> bool:
        """Whether the whole interval lies above zero."""
        return self.low > 0


def cluster_means(
    values: NDArray[np.float64], clusters: NDArray[np.generic], replicates: int = REPLICATES, seed: int = SEED
) -> list[Mean]:
    """Return the mean of each column, with percentile intervals over resampled clusters.

    Parameters
    ----------
    values : array of float, shape (rows, columns)
        At least one row.
    clusters : array, shape (rows,)
        Which cluster each row belongs to: whole clusters are drawn, with replacement.
    replicates, seed : int
        How many samples, and which.

    Returns
    -------
    list of Mean
        One a column; all columns see the same samples.

    Notes
    -----
    Field and Welsh (2007), Journal of the Royal Statistical Society B 69:369-390, "cluster bootstrap" (from
    memory). Percentile limits.

    Examples
    --------
    >>> found, = cluster_means(np.array([[1.0], [1.0], [4.0]]), np.array([0, 0, 1]))
    >>> found.value, found.low, found.high
    (2.0, 1.0, 4.0)
    """
    _, which = np.unique(clusters, return_inverse=True)
    units = int(which.max()) + 1
    sums = np.zeros((units, values.shape[1] + 1))
    np.add.at(sums, which, np.column_stack([values, np.ones(len(values))]))
    generator = np.random.default_rng(seed)
    drawn = []
    at_once = max(1, DRAWS_AT_ONCE // units)
    for start in range(0, replicates, at_once):
        wanted = min(at_once, replicates - start)
        times = generator.multinomial(units, np.full(units, 1 / units), size=wanted)
        totals = times @ sums
        drawn.append(totals[:, :-1] / totals[:, -1:])
    tail = 50 * (1 - CONFIDENCE)
    lows, highs = np.percentile(np.vstack(drawn), [tail, 100 - tail], axis=0)
    return [
        Mean(float(value), float(low), float(high), len(values))
        for value, low, high in zip(values.mean(axis=0), lows, highs, strict=True)
    ]
