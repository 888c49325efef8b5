"""How much less several calls of one unit say than as many calls of different units."""

from dataclasses import dataclass

FEWEST_UNITS = 30
"""Below this many units the estimate says nothing worth showing (our convention, no source)."""


@dataclass(frozen=True)
class ClusterSums:
    """Sums over clusters, a cluster being the judged calls of one unit: n of them, x counted.

    Parameters
    ----------
    clusters : int
        Number of clusters with n > 0.
    n, x, nn, nx, xx : float
        Sums over clusters of n, x, n*n, n*x, x*x.
    """

    clusters: int
    n: float
    x: float
    nn: float
    nx: float
    xx: float


def design_effect(sums: ClusterSums) -> float | None:
    """Variance of a rate with clusters taken together, over its variance were all calls independent.

    Parameters
    ----------
    sums : ClusterSums
        Of the calls behind the rate, or of a sample of their units.

    Returns
    -------
    float or None
        1: as if independent; 2: as much as half as many independent calls would say. None with fewer than
        `FEWEST_UNITS` clusters, or where no call or every call is counted.

    Notes
    -----
    The rate is a ratio of cluster totals, and its variance that of the linearised ratio estimator,
    k / (k - 1) * sum((x - p n)^2) / (sum n)^2 (Cochran WG, Sampling Techniques, 3rd edition 1977, section 9A,
    cited from memory), against p (1 - p) / sum n.

    Examples
    --------
    >>> alone = ClusterSums(clusters=100, n=100, x=20, nn=100, nx=20, xx=20)
    >>> round(design_effect(alone), 2)
    1.01
    >>> in_pairs = ClusterSums(clusters=100, n=200, x=40, nn=400, nx=80, xx=80)
    >>> round(design_effect(in_pairs), 2)
    2.02
    """
    if sums.clusters < FEWEST_UNITS or not 0 < sums.x < sums.n:
        return None
    p = sums.x / sums.n
    squares = sums.xx - 2 * p * sums.nx + p * p * sums.nn
    clustered = sums.clusters / (sums.clusters - 1) * squares / sums.n**2
    return clustered / (p * (1 - p) / sums.n)
