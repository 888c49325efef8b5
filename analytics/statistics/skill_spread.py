"""How far groups truly differ in how often a thing happens, beyond chance and mix; each group's level."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy import interpolate, optimize, sparse, stats
from scipy.special import expit

from analytics.statistics.intervals import CONFIDENCE

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

BIN = 0.05
"""Expected logits are taken together by so much, each bin at the mean of its own."""
STEP = 0.04
NODES: Floats = (np.arange(-160, 161) * STEP).astype(np.float64)
"""Where the level of a group is looked at, logits from the pooled one: equal steps, so that summing over them
is as exact as Gauss-Hermite quadrature while the spread is no smaller than a step."""
MOST = 3.0
"""Widest spread looked for: a ratio of odds of 20 between groups one standard deviation apart."""
MOST_STEPS = 40
SMALL_STEP = 1e-2
"""A centre is found when the next step is so small a part of its standard error."""
COARSE, FINE = 20, 24
CLEARLY = 6.0
"""Log likelihood by which data speak clearly against a spread."""
QUARTER = 0.25
LEVELS = 400
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
        Mean level of groups at the lower limit, the estimate and the upper limit.
    p : float
        Chance of data that speak so much for a spread where there is none.
    """

    estimate: float
    low: float
    high: float
    centres: tuple[float, float, float]
    p: float


@dataclass(frozen=True)
class Profile:
    """The likelihood at several spreads, each with the centre that makes it largest.

    Parameters
    ----------
    spreads, values, centres, errors : array of float, shape (spreads,)
        Spreads; log likelihood (0 for no spread); centres, and their standard errors.
    masses : array of float, shape (groups, spreads)
        Likelihood of each group, as far as it matters which spread it is.
    """

    spreads: Floats
    values: Floats
    centres: Floats
    errors: Floats
    masses: Floats


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
        none = counts.calls @ np.logaddexp(0, counts.offsets[:, None] + self.levels[None, :])
        log: Floats = np.asarray(np.outer(counts.happened, NODES) - none, np.float64)
        # the constants of the pooled level are taken off, so that no spread has a log likelihood of 0
        log -= log[:, [len(NODES) // 2]]
        highest: Floats = np.asarray(log.max(axis=1), dtype=np.float64)
        self._highest = float(highest.sum())
        self._of_groups: Floats = np.exp(log - highest[:, None]).astype(np.float64)

    def profile(self, spreads: Floats) -> Profile:
        """Find the centre that makes the likelihood largest at each of several spreads, of a step or more."""
        groups = len(self._of_groups)
        centres = np.full(len(spreads), self.pooled)
        for _ in range(MOST_STEPS):
            away = self.levels[:, None] - centres
            weight = self._prior(away, spreads)
            # all spreads in one product of matrices: several times as fast as one after the other
            moments = self._of_groups @ np.hstack([weight, weight * away, weight * away**2])
            mass, first, second = np.split(moments, 3, axis=1)
            mass = np.maximum(mass, 1e-300)
            mean = first / mass
            pull = mean.sum(axis=0) / spreads**2
            information = (groups - (second / mass - mean**2).sum(axis=0) / spreads**2) / spreads**2
            bent = information > 1e-6 * groups
            step = np.where(bent, pull / np.where(bent, information, 1.0), mean.mean(axis=0))
            errors = 1 / np.sqrt(np.where(bent, information, groups / spreads**2))
            if np.all(np.abs(step) < SMALL_STEP * errors):
                break
            centres = centres + np.clip(step, -1, 1)
        return Profile(spreads, np.log(mass).sum(axis=0) + self._highest, centres, errors, mass)

    @staticmethod
    def _prior(away: Floats, spreads: Floats) -> Floats:
        return np.asarray(np.exp(-0.5 * (away / spreads) ** 2) * STEP / (spreads * np.sqrt(2 * np.pi)))

    @cached_property
    def near(self) -> Profile:
        """The profile at equal steps over the spreads that the data do not speak clearly against."""
        coarse = self.profile(np.geomspace(STEP, MOST, COARSE))
        best = max(0.0, float(coarse.values.max()))
        kept = np.flatnonzero(coarse.values > best - CLEARLY)
        first, last = (int(kept[0]) - 1, int(kept[-1]) + 1) if len(kept) else (-1, 1)
        low = coarse.spreads[first] if first >= 0 else STEP
        return self.profile(np.linspace(low, coarse.spreads[min(last, COARSE - 1)], FINE))

    def spread(self, confidence: float = CONFIDENCE) -> Spread:
        """Return the spread by maximum likelihood.

        Notes
        -----
        Interval by profile likelihood; where no spread is within it, it begins at 0. The test of no spread
        takes half of the chi-square tail with one degree of freedom, since the spread can not be below 0
        (Self SG, Liang KY (1987), Journal of the American Statistical Association 82:605-610, from memory).
        Between spreads the profile is interpolated, below the first one as a straight line in the square of
        the spread.
        """
        near = self.near
        fine = np.linspace(near.spreads[0], near.spreads[-1], 40 * FINE)
        values = interpolate.CubicSpline(near.spreads, near.values)(fine)
        if near.spreads[0] <= STEP:
            below = np.linspace(0, STEP, 40, endpoint=False)
            fine = np.concatenate([below, fine])
            values = np.concatenate([near.values[0] * (below / STEP) ** 2, values])
        at = int(values.argmax())
        best = max(float(values[at]), 0.0)
        drop = float(stats.chi2.ppf(confidence, 1)) / 2
        held = fine[values >= best - drop]
        low = 0.0 if best <= drop else float(held[0])
        three = (low, float(fine[at]), float(held[-1]))
        centres = np.interp(three, [0.0, *near.spreads], [self.pooled, *near.centres]).tolist()
        p = float(stats.chi2.sf(2 * best, 1)) / 2 if best > 0 else 1.0
        return Spread(three[1], three[0], three[2], (centres[0], centres[1], centres[2]), p)

    def posterior(self, at: Profile | None = None) -> Floats:
        """Return how likely each level of each group is, shape (groups, levels); each row sums to 1.

        Parameters
        ----------
        at : Profile, optional
            The spreads that are thought possible; as a rule those of `near`.

        Notes
        -----
        Every spread alike likely beforehand (Gelman A (2006), Bayesian Analysis 1:515-533, from memory), and
        every centre: what is not known of both widens what is said of groups.
        """
        near = at or self.near
        likely = np.exp(near.values - near.values.max()) * near.errors
        total = np.zeros_like(self._of_groups)
        for node, weight in zip(CENTRE_NODES, CENTRE_WEIGHTS, strict=True):
            prior = self._prior(self.levels[:, None] - near.centres - node * near.errors, near.spreads)
            masses = np.maximum(self._of_groups @ prior, 1e-300) if node else near.masses
            total += weight * (likely / masses) @ prior.T
        total *= self._of_groups
        return np.asarray(total / total.sum(axis=1, keepdims=True), dtype=np.float64)

    def limits(self, posterior: Floats, confidence: float = CONFIDENCE) -> tuple[Floats, Floats]:
        """Return the limits of each group's level, as much left out below as above; shape (groups,)."""
        running = np.cumsum(posterior, axis=1)
        tail = (1 - confidence) / 2
        edges = self.levels + STEP / 2
        low, high = (
            np.array([np.interp(share, row, edges) for row in running]) for share in (tail, 1 - tail)
        )
        return low, high


def normal_levels(centre: float, spread: float) -> Floats:
    """Return levels at the middles of `LEVELS` equal shares of a normal distribution, lowest first."""
    z = stats.norm.ppf((np.arange(LEVELS) + 0.5) / LEVELS)
    return np.asarray(centre + spread * z, dtype=np.float64)


def best_quarter(counts: Counts, centre: float, spread: float) -> tuple[float, float]:
    """Return the mean share over the fitted distribution of levels, and that of its lowest quarter, 0..1.

    Parameters
    ----------
    counts : Counts
        For the mix of calls.
    centre, spread : float
        Mean and standard deviation of the levels.
    """
    shares = counts.rates(normal_levels(centre, spread))
    return float(shares.mean()), float(shares[: int(LEVELS * QUARTER)].mean())
