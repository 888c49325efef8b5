"""Limits by drawing groups of units: whatever a figure is, it is computed anew from each draw."""

import warnings

import numpy as np
from numpy.typing import NDArray

from analytics.statistics.intervals import CONFIDENCE

Floats = NDArray[np.float64]
REPLICATES = 500
SEED = 20_261_128


def weights_of(groups: int, replicates: int = REPLICATES, seed: int = SEED) -> Floats:
    """Return how often each group is drawn: once as seen, then as often as chance has it.

    Returns
    -------
    array of float, shape (1 + replicates, groups)
    """
    times = np.random.default_rng(seed).multinomial(groups, np.full(groups, 1 / groups), size=replicates)
    return np.vstack([np.ones(groups), times])


def drawn_sums(counts: Floats, replicates: int = REPLICATES, seed: int = SEED) -> Floats:
    """Return sums over all groups, as seen and as drawn.

    Parameters
    ----------
    counts : array of float, shape (..., groups, n)
        Counts of each group of units. Groups in which nothing was counted are not drawn.
    replicates, seed : int
        How many times as many groups are drawn, with replacement, and which.

    Returns
    -------
    array of float, shape (1 + replicates, ..., n)
        First as seen, then as drawn. Groups are drawn whole, for all that is counted of them alike.

    Notes
    -----
    Units stand in groups at random (by the hash of their number), so that groups vary as units do: Wolter KM
    (1985), Introduction to Variance Estimation, chapter 2; resampling clusters: Field and Welsh (2007),
    Journal of the Royal Statistical Society B 69:369-390 (both from memory).

    Examples
    --------
    >>> drawn_sums(np.array([[1.0], [2.0], [0.0]]), replicates=2).shape
    (3, 1)
    """
    filled = counts.any(axis=tuple(at for at in range(counts.ndim) if at != counts.ndim - 2))
    kept = np.compress(filled, counts, axis=-2)
    weights = weights_of(kept.shape[-2], replicates, seed)
    sums: Floats = np.tensordot(weights, kept, axes=(1, counts.ndim - 2))
    return sums


def limits(drawn: Floats) -> tuple[Floats, Floats]:
    """Return the 95% percentile limits over draws along the first axis; draws without a value are left out.

    Notes
    -----
    Of n draws the k-th counts as the share k / (n + 1), so that on average 2.5% lie beyond either limit; as
    k / n the limits would be too narrow.

    Examples
    --------
    >>> low, high = limits(np.arange(1.0, 200)[:, None])
    >>> low.round(6).tolist(), high.round(6).tolist()
    ([5.0], [195.0])
    """
    tail = 50 * (1 - CONFIDENCE)
    percentile = np.percentile if np.isfinite(drawn).all() else np.nanpercentile  # many times as fast
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", "All-NaN slice", RuntimeWarning)  # the answer is nan, as it should
        low, high = percentile(drawn, [tail, 100 - tail], axis=0, method="weibull")
    return low, high
