"""What groups have above what would be expected, pulled towards the average where counts are small."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
DRAWS = 4000
SEED = 19810601
"""Fixed, so that the same records give the same limits."""

FEWEST_GROUPS = 4
"""With fewer it can not be told how much groups differ, and nothing is pulled (our convention)."""


@dataclass(frozen=True)
class Excess:
    """Excess of each group.

    Parameters
    ----------
    ratio : array of float, shape (groups,)
        Observed over expected, pulled towards the average.
    excess : array of float, shape (groups,)
        Mean of `draws`: what there is above expectation, on average over what the ratio may be.
    draws : array of float, shape (draws, groups)
        Excess under ratios drawn from where they may lie; never below 0.
    """

    ratio: Floats
    excess: Floats
    draws: Floats


def pulled(estimates: ArrayLike, errors: ArrayLike) -> Floats:
    """Draw where the truth behind estimates of groups may lie.

    Parameters
    ----------
    estimates, errors : array-like of float, shape (groups,)
        Estimate and standard error (above 0) of each group.

    Returns
    -------
    array of float, shape (DRAWS, groups)
        Draws of all groups together. With fewer than `FEWEST_GROUPS` those of each by itself.

    Notes
    -----
    Normal groups around a common mean, with a flat prior for the mean and for the standard deviation between
    groups: Rubin DB (1981), Journal of Educational Statistics 6:377-401; Gelman A and others, Bayesian Data
    Analysis, 3rd edition 2013, section 5.4, whose table the tests repeat (from memory). How much groups
    differ is drawn too, since an interval that took it for known would be too narrow.
    """
    x, error = np.asarray(estimates, dtype=np.float64), np.asarray(errors, dtype=np.float64)
    rng = np.random.default_rng(SEED)
    if len(x) < FEWEST_GROUPS:
        return rng.normal(x, error, (DRAWS, len(x)))
    between = np.linspace(0, 4 * (x.std(ddof=1) + error.min()), 400)
    variance = error**2 + between[:, None] ** 2
    precision = (1 / variance).sum(axis=1)
    mean = (x / variance).sum(axis=1) / precision
    misfit = ((x - mean[:, None]) ** 2 / variance + np.log(variance)).sum(axis=1)
    likely = -0.5 * (misfit + np.log(precision))
    weight = np.exp(likely - likely.max())
    at = rng.choice(len(between), size=DRAWS, p=weight / weight.sum())
    centre = rng.normal(mean[at], 1 / np.sqrt(precision[at]))
    share = between[at, None] ** 2 / variance[at]  # how far a group is believed for itself
    return rng.normal(share * x + (1 - share) * centre[:, None], np.sqrt(share) * error)


def excess(observed: ArrayLike, expected: ArrayLike, variance: ArrayLike) -> Excess:
    """Return what each group has above what it would have at the rate of all.

    Parameters
    ----------
    observed, expected : array-like of float, shape (groups,)
        Counts, and what they would be at the rate of all: above 0, and as many in all.
    variance : array-like of float, shape (groups,)
        Of the observed count; above 0.

    Notes
    -----
    Ratios are pulled by `pulled`, and in each draw compared with that of all groups together, since the rate
    of all is no better known than its groups. An excess is never below 0, so that neither its mean nor its
    limits reach 0 even where chance alone is at work.
    """
    o, e, v = (np.asarray(each, dtype=np.float64) for each in (observed, expected, variance))
    ratios = pulled(o / e, np.sqrt(v) / e)
    of_all = ratios @ e / max(e.sum(), 1e-300)
    above = np.maximum(ratios - of_all[:, None], 0) * e
    return Excess(ratios.mean(axis=0), above.mean(axis=0), above)
