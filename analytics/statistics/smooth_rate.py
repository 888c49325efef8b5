"""A rate as a smooth curve over age, with an interval that allows for units that fail again and again."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from analytics.statistics.intervals import CONFIDENCE

Floats = NDArray[np.float64]
LEAST_EVENTS = 20
DRAWS = 2000
SEED = 20_261_127


@dataclass(frozen=True)
class SmoothRate:
    """A fitted curve.

    Parameters
    ----------
    age : array of float, shape (n,)
        Ages asked for, rising.
    rate, low, high : array of float, shape (n,)
        Events per unit of time at each age, and 95% limits of each point.
    drawn : array of float, shape (DRAWS, n)
        Curves drawn from the uncertainty of the fit.
    """

    age: Floats
    rate: Floats
    low: Floats
    high: Floats
    drawn: Floats


@dataclass(frozen=True)
class Doubled:
    """The age from which on a rate is twice that of the young, as far as it was watched.

    Parameters
    ----------
    age, low, high : float or None
        None: not within the ages watched; of `high` also where the upper limit lies beyond them.
    young : float
        The mean rate of the young, which is doubled.
    """

    age: float | None
    low: float | None
    high: float | None
    young: float


def natural_spline(age: Floats, knots: Sequence[float]) -> Floats:
    """Return the basis of a natural cubic spline, without the constant: straight beyond the outer knots.

    Parameters
    ----------
    age : array of float, shape (n,)
    knots : sequence of float
        At least three, rising, the outer ones included.

    Returns
    -------
    array of float, shape (n, knots - 1)

    Notes
    -----
    Hastie T, Tibshirani R, Friedman J (2009), The Elements of Statistical Learning, section 5.2.1 (from
    memory), with ages scaled to the outer knots.
    """
    first, last = knots[0], knots[-1]
    x = (np.asarray(age, dtype=float) - first) / (last - first)
    at = (np.asarray(knots, dtype=float) - first) / (last - first)

    def bent(k: int) -> Floats:
        cubes: Floats = np.maximum(x - at[k], 0) ** 3 - np.maximum(x - at[-1], 0) ** 3
        return cubes / (at[-1] - at[k])

    return np.column_stack([x, *[bent(k) - bent(len(at) - 2) for k in range(len(at) - 2)]])


def smooth_rate(
    counts: Floats,
    time: Floats,
    age: Floats,
    groups: NDArray[np.integer],
    knots: Sequence[float],
    asked: Floats,
) -> SmoothRate | None:
    """Fit the logarithm of a rate as a natural spline of age.

    Parameters
    ----------
    counts, time : array of float, shape (n,)
        Events and time at risk of each cell of a group and an age.
    age : array of float, shape (n,)
    groups : array of int, shape (n,)
        What varies together: the interval allows for it.
    knots : sequence of float
        As in `natural_spline`.
    asked : array of float, shape (m,)
        Ages to give the curve at.

    Returns
    -------
    SmoothRate or None
        None with fewer than `LEAST_EVENTS` events or groups, or where the fit does not settle.

    Notes
    -----
    Poisson regression with the time at risk as exposure (statsmodels), and the covariance that is robust to
    clusters: Liang KY, Zeger SL (1986), Biometrika 73:13-22 (from memory).
    """
    import statsmodels.api as sm

    seen = time > 0
    counts, time, age, groups = counts[seen], time[seen], age[seen], groups[seen]
    if counts.sum() < LEAST_EVENTS or len(np.unique(groups)) < LEAST_EVENTS:
        return None
    design = sm.add_constant(natural_spline(age, knots), has_constant="add")
    model = sm.GLM(counts, design, family=sm.families.Poisson(), exposure=time)
    fit = model.fit(cov_type="cluster", cov_kwds={"groups": groups})
    if not fit.converged or not np.isfinite(fit.cov_params()).all():
        return None
    there = sm.add_constant(natural_spline(asked, knots), has_constant="add")
    middle = there @ fit.params
    error = np.sqrt(np.einsum("ij,jk,ik->i", there, fit.cov_params(), there))
    width = stats.norm.ppf(0.5 + CONFIDENCE / 2) * error
    random = np.random.default_rng(SEED)
    drawn = random.multivariate_normal(fit.params, fit.cov_params(), DRAWS, method="eigh")
    return SmoothRate(
        asked, np.exp(middle), np.exp(middle - width), np.exp(middle + width), np.exp(drawn @ there.T)
    )


def doubled(curve: SmoothRate, young: NDArray[np.bool_]) -> Doubled:
    """Return the age at which the curve is first twice its mean over the young ages.

    Parameters
    ----------
    curve : SmoothRate
    young : array of bool, shape (n,)
        Ages to compare with; only ages after them are looked at.

    Notes
    -----
    Limits are percentiles of the same over the curves drawn; one that does not double within the ages watched
    doubles later than all of them.
    """
    every = np.vstack([curve.rate, curve.drawn])
    base = every[:, young].mean(axis=1, keepdims=True)
    later = curve.age > curve.age[young].max()
    twice = (every >= 2 * base) & later
    ages = np.where(twice.any(axis=1), curve.age[twice.argmax(axis=1)], np.inf)
    tail = 50 * (1 - CONFIDENCE)
    limits = np.percentile(ages[1:], [tail, 100 - tail], method="inverted_cdf")
    age, low, high = (float(each) if np.isfinite(each) else None for each in (ages[0], *limits))
    return Doubled(age, low, high, float(base[0, 0]))
