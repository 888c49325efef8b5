"""When did a rate change, and how sure is the day?"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import expit

Floats = NDArray[np.float64]

SEED = 1963
LEAST_CALLS = 30
"""Calls before and after the change at least (our convention): fewer say nothing of a rate."""
SERIES = 999
BLOCKS = 100
"""Stretches of about equal information at whose ends the test looks for a change."""
STEPS = 8
SET = -2 * np.log(1 - np.sqrt(0.95))
"""How far twice the log-likelihood may lie below its highest for a day to be in the 95% set: 7.35."""


@dataclass(frozen=True)
class Change:
    """The change that fits best.

    Parameters
    ----------
    at : int
        First period after it.
    first, last : int
        Ends of the 95% set of `at`.
    before, after : float
        Odds of coming back over those expected, before and after.
    statistic : float
        Largest standardised difference, squared, that the test is made of.
    p : float
        Probability of one as large or larger where nothing changes, whichever the day.
    """

    at: int
    first: int
    last: int
    before: float
    after: float
    statistic: float
    p: float


def find_change(
    happened: ArrayLike,
    calls: ArrayLike,
    log_odds: ArrayLike,
    dispersion: float = 1.0,
    seed: int = SEED,
) -> Change | None:
    """Date a change in the odds of coming back, by the highest profile likelihood.

    Parameters
    ----------
    happened : array-like of int, shape (periods,)
        Calls of each period that came back, in order of time.
    calls : array-like of int, shape (periods, classes)
        Calls of each period by class of what is expected; one class where all are expected alike.
    log_odds : array-like of float, shape (classes,)
        Logarithm of the expected odds of each class.
    dispersion : float
        How much more counts vary than those of independent calls: the design effect.
    seed : int
        Of the series drawn for the test.

    Returns
    -------
    Change or None
        None where there are not `LEAST_CALLS` calls on both sides of any day, or none or all came back.

    Notes
    -----
    Binomial, the odds of each call being those expected times one factor before the change and another after
    it; Hinkley DV, Hinkley EA (1970), Inference about the change-point in a sequence of binomial variables,
    Biometrika 57:477-488. The set holds the days whose likelihood ratio against the best lies within the 95%
    point of its limiting distribution, (1 - exp(-x/2)) squared: Hansen BE (2000), Sample splitting and
    threshold estimation, Econometrica 68:575-603; wider than chi-square, which does not hold for a day. The
    test of any change at all takes the largest standardised difference over all days against as many series
    drawn without one (binomial): a day chosen because it looks largest is not tested as if it had been named
    beforehand (Andrews DWK (1993), Econometrica 61:821-856). All from memory.
    """
    x = np.asarray(happened, dtype=np.float64)
    n = np.asarray(calls, dtype=np.float64)
    a = np.asarray(log_odds, dtype=np.float64)
    seen, among = x.cumsum(), n.sum(axis=1).cumsum()
    if not len(x) or not 0 < seen[-1] < among[-1]:
        return None
    days = np.flatnonzero((among >= LEAST_CALLS) & (among[-1] - among >= LEAST_CALLS))
    if not len(days):
        return None
    each = n.cumsum(axis=0)
    none, usual = _fitted(seen[-1:], each[-1:], a)
    before, likelihood = _fitted(seen[days], each[days], a)
    after, rest = _fitted(seen[-1] - seen[days], each[-1] - each[days], a)
    ratio = 2 * (likelihood + rest - usual) / dispersion
    best = int(ratio.argmax())
    held = np.flatnonzero(ratio >= ratio[best] - SET)
    statistic, p = _tested(x, n, expit(a + none), dispersion, seed)
    return Change(
        int(days[best]) + 1,
        int(days[held[0]]) + 1,
        int(days[held[-1]]) + 1,
        float(np.exp(before[best])),
        float(np.exp(after[best])),
        statistic,
        p,
    )


def _fitted(seen: Floats, calls: Floats, log_odds: Floats) -> tuple[Floats, Floats]:
    """Return for each row the shift of the log odds that fits best (Newton's method), and its log-likelihood.

    The likelihood leaves out the part that the shift does not change; it is the same for any day.
    """
    among = calls.sum(axis=1)
    shift = np.log((seen + 0.5) / (among - seen + 0.5)) - calls @ log_odds / among
    for _ in range(STEPS):
        chance = expit(log_odds + shift[:, None])
        slope = seen - (calls * chance).sum(axis=1)
        bend = (calls * chance * (1 - chance)).sum(axis=1)
        shift = np.clip(shift + np.clip(slope / np.maximum(bend, 1e-9), -1, 1), -12, 12)
    return shift, seen * shift - (calls * np.logaddexp(0, log_odds + shift[:, None])).sum(axis=1)


def _tested(x: Floats, n: Floats, chance: Floats, dispersion: float, seed: int) -> tuple[float, float]:
    """Return the largest squared difference over the days and its p-value, by series without a change."""
    information = (n * chance * (1 - chance)).sum(axis=1)
    passed = information.cumsum() / information.sum()
    block = np.minimum((passed * BLOCKS).astype(int), BLOCKS - 1)
    _, block = np.unique(block, return_inverse=True)
    calls = np.bincount(block, n.sum(axis=1)).round().astype(int)
    expected = np.bincount(block, (n * chance).sum(axis=1))
    share = np.bincount(block, information).cumsum() / information.sum()
    among = calls.cumsum()
    looked = np.flatnonzero((among >= LEAST_CALLS) & (among[-1] - among >= LEAST_CALLS))
    if not len(looked):
        return 0.0, 1.0
    scale = information.sum() * share[looked] * (1 - share[looked])

    def largest(counts: ArrayLike) -> Floats:
        away = (np.asarray(counts, dtype=np.float64) - expected).cumsum(axis=-1)
        bridge = away[..., looked] - share[looked] * away[..., -1:]
        highest: Floats = (bridge**2 / scale).max(axis=-1)
        return highest

    drawn = np.random.default_rng(seed).binomial(calls, np.clip(expected / calls, 0, 1), (SERIES, len(calls)))
    statistic = float(largest(np.bincount(block, x))) / dispersion
    return statistic, float((1 + (largest(drawn) >= statistic - 1e-9).sum()) / (1 + SERIES))
