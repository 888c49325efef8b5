"""How far groups truly differ in how often a thing happens, beyond chance and mix; each group's level."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy import optimize, sparse, stats
from scipy.special import expit

from analytics.statistics.intervals import CONFIDENCE

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

BIN = 0.05
"""Expected logits are taken together by so much, each bin at the mean of its own."""
STEP = 0.04
NODES = np.arange(-160, 161) * STEP
"""Where the level of a group is looked at, logits from the pooled one: equal steps, so that summing over them
is as exact as Gauss-Hermite quadrature while the spread is no smaller than a step."""
MOST = 3.0
"""Widest spread looked for: a ratio of odds of 20 between groups one standard deviation apart."""
TOLERANCE = 2e-3
QUARTER = 0.25
LEVELS = 400
SPREAD_NODES = 16
CENTRE_NODES = np.array([-np.sqrt(3.0), 0.0, np.sqrt(3.0)])
CENTRE_WEIGHTS = np.array([1.0, 4.0, 1.0]) / 6
"""Gauss-Hermite, three nodes, for a standard normal."""


@dataclass(frozen=True)
class Counts:
    """What happened by group, and what was to be expected of it.

    Parameters
    ----------
    offsets : array of float, shape (bins,)
        Expected logit of the calls in each bin.
    calls : sparse array, shape (groups, bins)
        How many calls of each group lie in each bin.
    happened : array of float, shape (groups,)
        To how many of a group's calls it happened.
    """

    offsets: Floats
    calls: sparse.csr_matrix
    happened: Floats

    @classmethod
    def of(cls, group: Integers, expected: Floats, happened: NDArray[np.generic], groups: int) -> "Counts":
        """Count calls.

        Parameters
        ----------
        group : array of int, shape (calls,)
        expected : array of float, shape (calls,)
            Logit of the expected probability of each call.
        happened : array of bool, shape (calls,)
        groups : int
        """
        bins, at = np.unique(np.round(expected / BIN), return_inverse=True)
        offsets = np.bincount(at, expected) / np.bincount(at)
        table = sparse.coo_matrix((np.ones(len(at)), (group, at)), shape=(groups, len(bins))).tocsr()
        counted = np.bincount(group, np.asarray(happened, np.float64), groups)
        return cls(offsets, table, counted.astype(np.float64))

    @property
    def of_groups(self) -> Floats:
        """Calls of each group, shape (groups,)."""
        return np.asarray(self.calls.sum(axis=1), dtype=np.float64).ravel()

    @cached_property
    def weights(self) -> Floats:
        """Share of all calls in each bin, shape (bins,)."""
        total = np.asarray(self.calls.sum(axis=0), dtype=np.float64).ravel()
        return total / total.sum()

    def rates(self, levels: Floats) -> Floats:
        """Share to whose calls it would happen at a level, over the mix of all calls; shape as `levels`."""
        flat = expit(self.offsets[:, None] + np.ravel(levels)[None, :])
        return np.asarray(self.weights @ flat).reshape(np.shape(levels))


@dataclass(frozen=True)
class Spread:
    """The spread between groups: the standard deviation of their levels, a logit.

    Parameters
    ----------
    estimate, low, high : float
        Maximum likelihood, and its 95% interval by profile likelihood.
    centres : tuple of three floats
        Mean level of groups at each of the three.
    p : float
        Chance of data that speak so much for a spread where there is none.
    """

    estimate: float
    low: float
    high: float
    centres: tuple[float, float, float]
    p: float


class Likelihood:
    """Likelihood of a random-intercept logistic model: logit of a call = expected logit + level of its group.

    Parameters
    ----------
    counts : Counts
        With at least one call to which it happened, and one to which it did not.

    Notes
    -----
    Levels are normal about a centre. The integral over a group's level is a sum over equal steps, which for a
    smooth function that dies out at both ends converges as fast as Gauss-Hermite quadrature (Trefethen LN,
    Weideman JAC (2014), SIAM Review 56:385-458, from memory), and needs the likelihood of each group only
    once for all spreads.
    """

    def __init__(self, counts: Counts) -> None:
        total = counts.happened.sum()
        if not 0 < total < counts.calls.sum():
            raise ValueError("it happened to none of the calls, or to all: nothing can be said of a spread")
        share = total / counts.calls.sum()
        self.pooled = float(optimize.brentq(lambda a: counts.rates(np.array([a]))[0] - share, -30.0, 30.0))
        self.levels: Floats = self.pooled + NODES
        log = np.outer(counts.happened, NODES) - counts.calls @ np.logaddexp(
            0, counts.offsets[:, None] + self.levels[None, :]
        )
        # the constants of the pooled level are taken off, so that no spread has a log likelihood of 0
        log -= log[:, [len(NODES) // 2]]
        highest = log.max(axis=1)
        self._highest = float(highest.sum())
        self._of_groups: Floats = np.exp(log - highest[:, None]).astype(np.float64)
        self._last = self.pooled

    def at(self, spread: float) -> tuple[float, float, float]:
        """Return the log likelihood (0 for no spread), the centre that makes it largest, and its error."""
        if spread < STEP:
            value, centre, error = self.at(STEP)
            share = (spread / STEP) ** 2  # smooth in the square of the spread
            return share * value, self.pooled + share * (centre - self.pooled), error
        centre = self._last
        for _ in range(40):
            value, pull, information = self._slope(centre, spread)
            step = pull / information if information > 0 else pull * spread**2 / len(self._of_groups)
            if abs(step) < 1e-6:
                break
            centre += float(np.clip(step, -1, 1))
        self._last = centre
        return value, centre, 1 / np.sqrt(max(information, 1e-9))

    def _slope(self, centre: float, spread: float) -> tuple[float, float, float]:
        away = self.levels - centre
        weight = stats.norm.pdf(away / spread) * STEP / spread
        moments = self._of_groups @ np.column_stack([weight, weight * away, weight * away**2])
        mass = np.maximum(moments[:, 0], 1e-300)
        mean = moments[:, 1] / mass
        variance = moments[:, 2] / mass - mean**2
        value = float(np.log(mass).sum()) + self._highest
        return value, float(mean.sum()) / spread**2, (len(mass) - variance.sum() / spread**2) / spread**2

    def spread(self, confidence: float = CONFIDENCE) -> Spread:
        """Return the spread by maximum likelihood.

        Notes
        -----
        Interval by profile likelihood; where no spread is within it, it begins at 0. The test of no spread
        takes half of the chi-square tail with one degree of freedom, since the spread can not be below 0
        (Self SG, Liang KY (1987), Journal of the American Statistical Association 82:605-610, from memory).
        """
        found = optimize.minimize_scalar(
            lambda s: -self.at(s)[0], bounds=(STEP, MOST), method="bounded", options={"xatol": TOLERANCE}
        )
        best, estimate = -float(found.fun), float(found.x)
        if best <= 0:
            best, estimate = 0.0, 0.0
        drop = float(stats.chi2.ppf(confidence, 1)) / 2

        def beyond(s: float) -> float:
            return best - drop - self.at(s)[0]

        low = optimize.brentq(beyond, 0, estimate, xtol=TOLERANCE) if best > drop else 0.0
        high = optimize.brentq(beyond, estimate, MOST, xtol=TOLERANCE) if beyond(MOST) > 0 else MOST
        centres = self.at(low)[1], self.at(estimate)[1], self.at(high)[1]
        p = float(stats.chi2.sf(2 * best, 1)) / 2 if best > 0 else 1.0
        return Spread(estimate, float(low), float(high), centres, p)

    def posterior(self, spread: Spread) -> Floats:
        """Return how likely each level of each group is, shape (groups, levels); each row sums to 1.

        Notes
        -----
        Every spread between 0 and `MOST` alike likely beforehand (Gelman A (2006), Bayesian Analysis
        1:515-533, from memory), and every centre: what is not known of both widens what is said of groups.
        """
        first = max(0.0, spread.low - 0.6 * (spread.estimate - spread.low))
        last = min(MOST, spread.high + 0.8 * (spread.high - spread.estimate))
        width = (last - first) / SPREAD_NODES
        spreads = np.maximum(first + width * (np.arange(SPREAD_NODES) + 0.5), STEP)
        found = [self.at(float(each)) for each in spreads]
        best = max(value for value, _, _ in found)
        total = np.zeros_like(self._of_groups)
        for each, (value, centre, error) in zip(spreads, found, strict=True):
            for node, weight in zip(CENTRE_NODES, CENTRE_WEIGHTS, strict=True):
                away = (self.levels - centre - node * error) / each
                own = self._of_groups * np.exp(-0.5 * away**2)[None, :]
                mass = np.maximum(own.sum(axis=1, keepdims=True), 1e-300)
                total += weight * error * np.exp(value - best) * own / mass
        return np.asarray(total / total.sum(axis=1, keepdims=True), dtype=np.float64)

    def limits(self, posterior: Floats, confidence: float = CONFIDENCE) -> tuple[Floats, Floats]:
        """Return the limits of each group's level, as much left out below as above; shape (groups,)."""
        running = np.cumsum(posterior, axis=1)
        tail = (1 - confidence) / 2
        edges = self.levels + STEP / 2
        return tuple(  # type: ignore[return-value]
            np.array([np.interp(share, row, edges) for row in running]) for share in (tail, 1 - tail)
        )


def best_quarter(counts: Counts, centre: float, spread: float) -> tuple[float, float]:
    """Return the mean share over the fitted distribution of levels, and that of its lowest quarter, 0..1.

    Parameters
    ----------
    counts : Counts
        For the mix of calls.
    centre, spread : float
        Mean and standard deviation of the levels.

    Notes
    -----
    Levels at the middles of `LEVELS` equal shares of the normal distribution.
    """
    z = stats.norm.ppf((np.arange(LEVELS) + 0.5) / LEVELS)
    shares = counts.rates(centre + spread * z)
    return float(shares.mean()), float(shares[: int(LEVELS * QUARTER)].mean())
