"""Do the treated differ from the others, when there are few of either? By rearranging who is who."""

from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations
from math import comb

import numpy as np
from numpy.typing import ArrayLike, NDArray

from analytics.statistics.intervals import CONFIDENCE

MOST_ARRANGEMENTS = 5000
"""Up to so many are gone through one by one; of more, as many are drawn, always the same."""
SEED = 7
WIDER = 2.0
CLOSE = 1e-4
"""An end of the interval is searched until it is known to this share of the standard error."""
MOST_STEPS = 60
SAME = 1e-9


@dataclass(frozen=True)
class PermutedDifference:
    """Weighted mean of the treated minus that of the others.

    Parameters
    ----------
    estimate, low, high : float
        In the unit of the values.
    p : float
        Share of arrangements that lie at least as far apart, 0..1, two-sided.
    arrangements : int
        How many were looked at, the one that happened included.
    """

    estimate: float
    low: float
    high: float
    p: float
    arrangements: int


def permuted_difference(
    values: ArrayLike, weights: ArrayLike, treated: ArrayLike, confidence: float = CONFIDENCE
) -> PermutedDifference:
    """Compare treated with others by a studentised permutation test, and invert it for an interval.

    Parameters
    ----------
    values : array-like of float, shape (n,)
        One a person.
    weights : array-like of float, shape (n,)
        Above 0; how much each value says. They go with the value from arrangement to arrangement.
    treated : array-like of bool, shape (n,)
        At least two of either.
    confidence : float
        Coverage aimed at, 0..1.

    Raises
    ------
    ValueError
        When there are fewer than two treated or others.

    Notes
    -----
    The statistic is the difference of weighted means over its standard error, each group with a variance of
    its own, so that the test holds, for many persons, even where the groups vary by different amounts:
    Janssen A (1997), Statistics and Probability Letters 36:9-21; Chung E, Romano JP (2013), Annals of
    Statistics 41:484-507 (both from memory). The interval holds every shift of the treated that the test does
    not refuse; its ends are searched outwards from the estimate.

    Examples
    --------
    Three and three, wholly apart: of 20 arrangements, 2 lie as far apart.

    >>> permuted_difference([1, 2, 3, 11, 12, 13], [1] * 6, [0, 0, 0, 1, 1, 1]).p
    0.1
    """
    inside = np.asarray(treated, dtype=bool)
    if inside.sum() < 2 or (~inside).sum() < 2:
        raise ValueError("At least two treated and two others are needed.")
    order = np.argsort(~inside, kind="stable")  # the treated first
    sums = _Sums.of(
        np.asarray(values, dtype=float)[order], np.asarray(weights, dtype=float)[order], int(inside.sum())
    )
    estimate, error = sums.difference(0.0)
    alpha = 1 - confidence
    step = WIDER * max(float(error[0]), SAME)
    low, high = (_end(sums, float(estimate[0]), sign * step, alpha) for sign in (-1, 1))
    return PermutedDifference(float(estimate[0]), low, high, sums.p(0.0), len(error))


@dataclass(frozen=True)
class _Sums:
    """Weighted sums of the treated and of the others in every arrangement; the first is what happened.

    A shift of those who were really treated is linear in the means and quadratic in the variances: so the
    sums are made once, whatever the shift.
    """

    first: tuple[NDArray[np.float64], ...]
    second: tuple[NDArray[np.float64], ...]
    sizes: tuple[int, int]

    @classmethod
    def of(cls, values: NDArray[np.float64], weights: NDArray[np.float64], treated: int) -> "_Sums":
        inside = arrangements(len(values), treated)
        shifted = (np.arange(len(values)) < treated).astype(float)
        square = weights**2
        columns = np.column_stack(
            [
                weights,
                weights * values,
                weights * shifted,
                square,
                square * values,
                square * shifted,
                square * values**2,
                square * values * shifted,
            ]
        )
        first = inside @ columns
        return cls(tuple(first.T), tuple((columns.sum(axis=0) - first).T), (treated, len(values) - treated))

    def difference(self, shift: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Return difference and standard error in every arrangement, the shift taken from the treated."""
        (one, one_variance), (other, other_variance) = (
            _mean(sums, size, shift) for sums, size in zip((self.first, self.second), self.sizes, strict=True)
        )
        return one - other, np.sqrt(one_variance + other_variance)

    def p(self, shift: float) -> float:
        """Return the share of arrangements at least as far apart as the one that happened."""
        difference, error = self.difference(shift)
        apart = np.abs(difference)
        far = np.where(apart <= SAME, 0.0, apart / np.maximum(error, SAME))
        return float((far >= far[0] * (1 - SAME) - SAME).mean())


def _mean(
    sums: tuple[NDArray[np.float64], ...], size: int, shift: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    w, wv, ws, ww, wwv, wws, wwvv, wwvs = sums
    mean = (wv - shift * ws) / w
    squares = (
        wwvv - 2 * shift * wwvs + shift**2 * wws - 2 * mean * (wwv - shift * wws) + mean**2 * ww
    )  # of weight times distance from the mean; the mark of the treated is its own square
    return mean, size / (size - 1) * np.maximum(squares, 0.0) / w**2


@lru_cache(maxsize=16)
def arrangements(persons: int, treated: int) -> NDArray[np.float64]:
    """Return arrangements as rows of 0 and 1, the first persons treated in the first row.

    Parameters
    ----------
    persons, treated : int

    Returns
    -------
    array of float, shape (arrangements, persons)
        All of them where there are few, else as many as `MOST_ARRANGEMENTS`, drawn with `SEED`.
    """
    if comb(persons, treated) <= MOST_ARRANGEMENTS:
        chosen = np.array(list(combinations(range(persons), treated)))  # in order: the first come first
    else:
        keys = np.random.default_rng(SEED).random((MOST_ARRANGEMENTS, persons))
        keys[0] = np.arange(persons)
        chosen = np.argsort(keys, axis=1)[:, :treated]
    inside = np.zeros((len(chosen), persons))
    np.put_along_axis(inside, chosen, 1.0, axis=1)
    return inside


def _end(sums: _Sums, estimate: float, step: float, alpha: float) -> float:
    """Search one end: outwards until the test refuses, then between the last two."""
    held, refused = estimate, estimate + step
    for _ in range(MOST_STEPS):
        if sums.p(refused) <= alpha:
            break
        held, refused = refused, refused + WIDER * (refused - estimate)
    else:
        return float(np.copysign(np.inf, step))
    while abs(refused - held) > CLOSE * abs(step):
        middle = (held + refused) / 2
        held, refused = (held, middle) if sums.p(middle) <= alpha else (middle, refused)
    return held
