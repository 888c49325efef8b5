"""What the orders would have cost on held-out calls whose cause is known."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from analytics.causes.facts import CheckFacts, Floats
from analytics.causes.order import minutes_by_cause, order_of_checks
from analytics.errors import BadQuestion
from analytics.statistics.cluster_bootstrap import Mean, cluster_means

ORDERS = ("model", "technicians", "fixed", "clairvoyant")
"""The model's order, that which technicians used, the best one for all calls, and who knows the cause."""


@dataclass(frozen=True)
class Judgement:
    """Expected minutes to the fault under four orders.

    Parameters
    ----------
    calls, units : int
        Calls judged, and the units they are on.
    means : dict of str to Mean
        Minutes a call by order, see `ORDERS`. For the clairvoyant a lower bound.
    saved : dict of str to Mean
        Minutes a call of each order other than the model's, less the model's, on the same calls.
    """

    calls: int
    units: int
    means: dict[str, Mean]
    saved: dict[str, Mean]


def judge_orders(
    facts: CheckFacts,
    posteriors: ArrayLike,
    causes: Sequence[str],
    sequences: Sequence[Sequence[str]],
    units: ArrayLike,
    training_average: ArrayLike,
) -> Judgement:
    """Judge orders of checks by what they would have cost on calls whose cause is known.

    Parameters
    ----------
    facts : CheckFacts
        The n checks and k causes.
    posteriors : array-like of float, shape (calls, k)
        What the model said of each call when the phone rang.
    causes : sequence of str, length calls
        What it turned out to be.
    sequences : sequence of sequence of str, length calls
        Checks that technicians made, in order. A record ends where the fault was found, so that after it the
        best fixed order is followed with the checks that are left; otherwise it would be charged for a second
        visit that nobody made.
    units : array-like, shape (calls,)
        The unit of each call; calls of one unit are drawn together.
    training_average : array-like of float, shape (k,)
        Shares of the causes among the training calls, for which the best fixed order is made.

    Returns
    -------
    Judgement
        Minutes under the model of `order`, in which what a check says is drawn anew: no order profits from
        luck on the day.

    Raises
    ------
    BadQuestion
        When there is no call, lengths differ, or a code does not fit the facts.

    Notes
    -----
    Intervals come from a bootstrap over units; see `analytics.statistics.cluster_bootstrap`.
    """
    p = np.asarray(posteriors, dtype=np.float64)
    keys = np.asarray(units)
    if not len(p) or not len(p) == len(causes) == len(sequences) == len(keys):
        raise BadQuestion(
            f"Judging orders: {len(p)} posteriors, {len(causes)} causes, {len(sequences)} sequences and "
            f"{len(keys)} units; give one of each for every call, and at least one call."
        )
    unknown = sorted(set(causes) - set(facts.causes))
    if unknown:
        raise BadQuestion(f"No cause is called {unknown[0]!r}; there are {', '.join(facts.causes)}.")
    true = np.array([facts.causes.index(cause) for cause in causes])
    minutes = np.stack(
        [
            _of_model(facts, p, true),
            *_of_technicians_and_fixed(facts, facts.chances(training_average), true, sequences),
            _clairvoyant(facts)[true],
        ],
        axis=1,
    )
    return _judged(minutes, keys)


def _of_model(facts: CheckFacts, posteriors: Floats, true: NDArray[np.int64]) -> Floats:
    """Return the minutes of the model's order on each call."""
    # calls with the same answers have the same order
    different, which = np.unique(posteriors, axis=0, return_inverse=True)
    minutes = np.stack(
        [minutes_by_cause(facts, each, order_of_checks(facts, each).sequence) for each in different]
    )
    return minutes[which.reshape(-1), true]


def _of_technicians_and_fixed(
    facts: CheckFacts, average: Floats, true: NDArray[np.int64], sequences: Sequence[Sequence[str]]
) -> tuple[Floats, Floats]:
    """Return the minutes of technicians' sequences, gone on with as the best fixed order, and of that."""
    fixed = order_of_checks(facts, average).sequence
    by_sequence = {
        made: minutes_by_cause(facts, average, (*made, *fixed)) for made in set(map(tuple, sequences))
    }
    technicians = np.stack([by_sequence[tuple(made)] for made in sequences])[np.arange(len(true)), true]
    return technicians, minutes_by_cause(facts, average, fixed)[true]


def _clairvoyant(facts: CheckFacts) -> Floats:
    """Return what finding each cause costs at least when it is known, shape (k,)."""
    return np.array([order_of_checks(facts, one).bound for one in np.eye(len(facts.causes))])


def _judged(minutes: Floats, keys: NDArray[np.generic]) -> Judgement:
    """Return means, differences and their intervals from minutes, shape (calls, 4)."""
    compared = np.concatenate([minutes, minutes[:, 1:] - minutes[:, :1]], axis=1)
    means = cluster_means(compared, keys)
    return Judgement(
        calls=len(minutes),
        units=len(np.unique(keys)),
        means=dict(zip(ORDERS, means[:4], strict=True)),
        saved=dict(zip(ORDERS[1:], means[4:], strict=True)),
    )
