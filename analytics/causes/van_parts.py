"""Which parts to have on the van: the cheapest that answer the likely causes, and how many for a day."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import Bounds, LinearConstraint, milp

from analytics.causes.facts import Floats
from analytics.causes.order_problem import LEAST
from analytics.errors import BadQuestion

STAND_IN_COST = 50.0
"""Cost of a part whose cost is not known, in the currency of the records (a guess, as any would be)."""

CLOSE = 1e-9
"""Shares that count as the same."""


@dataclass(frozen=True)
class PartFacts:
    """The parts, and which causes each answers.

    Parameters
    ----------
    codes : tuple of str, length m
        The parts.
    causes : tuple of str, length k
        The causes.
    answers : array of bool, shape (m, k)
        Whether the part, being aboard, is what the cause needs; any one such part will do.
    costs : array of float, shape (m,)
        Cost of each part, NaN where it is not known.
    without_part : frozenset of str
        Causes that are put right without a part.
    """

    codes: tuple[str, ...]
    causes: tuple[str, ...]
    answers: NDArray[np.bool_]
    costs: Floats
    without_part: frozenset[str]

    @classmethod
    def of(
        cls,
        parts: Mapping[str, tuple[Collection[str], float | None]],
        causes: Sequence[str],
        without_part: Collection[str] = (),
    ) -> "PartFacts":
        """Make facts of each part's causes and cost, None where it is not known."""
        return cls(
            tuple(parts),
            tuple(causes),
            np.array([[cause in answers for cause in causes] for answers, _ in parts.values()], dtype=bool)
            .reshape(len(parts), len(causes)),
            np.array([np.nan if cost is None else cost for _, cost in parts.values()], dtype=np.float64),
            frozenset(without_part),
        )  # fmt: skip

    @property
    def counted_costs(self) -> Floats:
        """Cost of each part, shape (m,), with `STAND_IN_COST` where it is not known."""
        return np.where(np.isnan(self.costs), STAND_IN_COST, self.costs)

    @property
    def needs_none(self) -> NDArray[np.bool_]:
        """Which causes need no part, shape (k,)."""
        return np.array([cause in self.without_part for cause in self.causes], dtype=bool)


@dataclass(frozen=True)
class Parts:
    """Parts to bring to one call.

    Parameters
    ----------
    parts : tuple of str
        The parts, in the order of the facts.
    cost : float
        Their cost, with `STAND_IN_COST` for each in `cost_not_known`.
    share : float
        Share of the probability covered, 0..1: by a part aboard, or because no part is needed.
    reached : bool
        Whether the share asked for is covered; else all is that can be.
    not_coverable : tuple of str
        Possible causes that need a part and that none answers.
    cost_not_known : tuple of str
        Parts among `parts` whose cost is not known.
    """

    parts: tuple[str, ...]
    cost: float
    share: float
    reached: bool
    not_coverable: tuple[str, ...]
    cost_not_known: tuple[str, ...]


def parts_to_bring(facts: PartFacts, posterior: ArrayLike, share: float) -> Parts:
    """Find the cheapest set of parts that covers a share of the probability.

    Parameters
    ----------
    facts : PartFacts
        The m parts and k causes.
    posterior : array-like of float, shape (k,)
        Chance of each cause; brought to a sum of 1.
    share : float
        Share to cover, 0..1.

    Raises
    ------
    BadQuestion
        When the share lies outside 0..1 or the posterior does not fit.

    Notes
    -----
    Exact, by integer programming (scipy.optimize.milp): choose x of parts and y of causes, each 0
    or 1, with y(i) at most the sum of x over the parts that answer i, the sum of p(i) y(i) at least what is
    to be covered, and the cost of x least. Partial covering; Balas E, Padberg MW (1976), SIAM Review
    18:710-760 (from memory).
    """
    p = _chances(facts, np.asarray(posterior, dtype=np.float64)[None, :])[0]
    _check_share(share)
    answered = facts.answers.any(axis=0) & ~facts.needs_none
    free, coverable = float(p[facts.needs_none].sum()), float(p[answered].sum())
    wanted = min(share - free, coverable)
    chosen = _cheapest(facts, p, answered, wanted) if wanted > CLOSE else np.zeros(len(facts.codes), bool)
    covered = free + float(p[answered & facts.answers[chosen].any(axis=0)].sum())
    lacking = (p > LEAST) & ~answered & ~facts.needs_none
    return Parts(
        tuple(code for code, here in zip(facts.codes, chosen, strict=True) if here),
        float(facts.counted_costs[chosen].sum()),
        covered,
        covered >= share - CLOSE,
        tuple(cause for cause, here in zip(facts.causes, lacking, strict=True) if here),
        tuple(code for code, here in zip(facts.codes, chosen & np.isnan(facts.costs), strict=True) if here),
    )


def _cheapest(facts: PartFacts, p: Floats, answered: NDArray[np.bool_], wanted: float) -> NDArray[np.bool_]:
    """Return which parts, shape (m,), cover what is wanted at the least cost."""
    parts, causes = len(facts.codes), np.flatnonzero(answered)
    cost = np.concatenate([facts.counted_costs, np.zeros(len(causes))])
    by_part = np.concatenate([facts.answers[:, causes].T.astype(float), -np.eye(len(causes))], axis=1)
    enough = np.concatenate([np.zeros(parts), p[causes]])[None, :]
    solved = milp(
        cost,
        integrality=np.ones(len(cost)),
        bounds=Bounds(0, 1),
        constraints=[
            LinearConstraint(by_part, 0, np.inf),
            LinearConstraint(enough, wanted - CLOSE, np.inf),
        ],
        options={"mip_rel_gap": 0.0},
    )
    return np.asarray(solved.x[:parts] > 0.5)


def parts_for_the_day(facts: PartFacts, posteriors: ArrayLike, share: float) -> dict[str, int]:
    """Find how many of each part to take for a day's calls.

    Parameters
    ----------
    facts : PartFacts
        The m parts and k causes; of several parts that answer a cause the cheapest is taken, of equally
        cheap ones the first.
    posteriors : array-like of float, shape (calls, k)
        Chances of the causes of each call.
    share : float
        Chance, 0..1, with which the number of each part shall suffice.

    Returns
    -------
    dict of str to int
        For each part of which at least one is to be taken the smallest number that suffices with that chance.

    Raises
    ------
    BadQuestion
        When the share lies outside 0..1 or the posteriors do not fit.

    Notes
    -----
    Calls are independent; how many need the part is Poisson-binomial, its distribution added up call by call
    (Wang YH (1993), Statistica Sinica 3:295-312, from memory).
    """
    p = _chances(facts, np.asarray(posteriors, dtype=np.float64))
    _check_share(share)
    counted = np.where(facts.answers & ~facts.needs_none, facts.counted_costs[:, None], np.inf)
    taken = np.zeros(facts.answers.shape)
    if len(facts.codes):
        cheapest = counted.argmin(axis=0)
        taken[cheapest, np.arange(len(facts.causes))] = np.isfinite(counted.min(axis=0))
    needs = p @ taken.T
    enough = (np.cumsum(_how_many(needs), axis=0) >= share - CLOSE).argmax(axis=0)
    return {code: int(number) for code, number in zip(facts.codes, enough, strict=True) if number}


def _how_many(needs: Floats) -> Floats:
    """Return the chance that 0, 1, ... calls need each part, shape (calls + 1, m), from (calls, m)."""
    chances = np.zeros((len(needs) + 1, needs.shape[1]))
    chances[0] = 1.0
    for one in needs:
        chances[1:] = chances[1:] * (1 - one) + chances[:-1] * one
        chances[0] *= 1 - one
    return chances


def _chances(facts: PartFacts, posteriors: Floats) -> Floats:
    """Return chances that sum to 1 in each row, or say what does not fit."""
    if posteriors.ndim != 2 or posteriors.shape[1] != len(facts.causes):
        raise BadQuestion(
            f"Chances of causes have the shape {posteriors.shape}; "
            f"for {len(facts.causes)} causes they should have {len(facts.causes)} columns."
        )
    total = posteriors.sum(axis=1, keepdims=True)
    if (posteriors < 0).any() or not (total > 0).all():
        raise BadQuestion("Chances of the causes of a call are below 0 or all 0; give one above 0.")
    return posteriors / total


def _check_share(share: float) -> None:
    if not 0 <= share <= 1:
        raise BadQuestion(f"The share to cover is {share:g}; it should be from 0 to 1.")
