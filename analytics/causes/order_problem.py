"""One order to be found, made ready: the checks that can still find something, with what is left to pay."""

from collections.abc import Collection
from dataclasses import dataclass

from numpy.typing import ArrayLike

from analytics.causes.facts import CheckFacts, Floats

NONE = -1
"""In place of a set-up: nothing to be paid. In a sequence of checks, in place of a check: see `WAIT`."""

WAIT = -1
"""In a sequence, in place of a check: wait until the next result is there."""

LEAST = 1e-12
"""Less than this is nothing: of a chance, and of minutes to divide by."""


@dataclass(frozen=True)
class Problem:
    """Checks worth thinking about, from here on.

    Parameters
    ----------
    places : tuple of int, length n
        Where each check stands in the facts.
    minutes, beside, false : array of float, shape (n,)
        Hands-on minutes, minutes until the result is there, chance of a false finding.
    reveals : array of float, shape (n, k)
        Chance that the check finds the fault, by cause.
    setups : tuple of tuple of int, length n
        Numbers of the set-ups of which any one will do; empty where nothing is left to pay.
    setup_names : tuple of str
        Name of each set-up.
    setup_minutes : tuple of float
        Minutes of each set-up.
    weights : array of float, shape (k,)
        Chance of each cause now; sums to 1.
    second_visit : float
        Minutes that a fault still unfound costs.
    implied : bool
        Whether the last cause left counts as found.
    """

    places: tuple[int, ...]
    minutes: Floats
    beside: Floats
    false: Floats
    reveals: Floats
    setups: tuple[tuple[int, ...], ...]
    setup_names: tuple[str, ...]
    setup_minutes: tuple[float, ...]
    weights: Floats
    second_visit: float
    implied: bool


def unfound(facts: CheckFacts, posterior: ArrayLike, made: Collection[str]) -> Floats:
    """Return the chances of the causes, shape (k,), after checks that were made without a finding.

    When the checks made leave nothing possible, the chances stay as they were.
    """
    p = facts.chances(posterior)
    left = p * (1 - facts.reveals[facts.places(made)]).prod(axis=0)
    return left / left.sum() if left.sum() > LEAST else p


def ready(
    facts: CheckFacts,
    posterior: ArrayLike,
    *,
    paid: Collection[str] = (),
    made: Collection[str] = (),
    implied: bool = False,
    only_useful: bool = True,
) -> Problem:
    """Make a problem ready.

    Parameters
    ----------
    facts : CheckFacts
        The checks.
    posterior : array-like of float, shape (k,)
        Chances of the causes before the checks that were made.
    paid : collection of str
        Set-ups that are in place already.
    made : collection of str
        Checks made without a finding; they are not made again.
    implied : bool
        Whether the last cause left counts as found.
    only_useful : bool
        Leave out the checks that can not find any cause that is possible.
    """
    weights = unfound(facts, posterior, made)
    free = {name for name, minutes in facts.setup_minutes.items() if minutes == 0} | set(paid)
    names = tuple(name for name in facts.setup_minutes if name not in free)
    number = {name: at for at, name in enumerate(names)}
    left = [at for at, code in enumerate(facts.codes) if code not in set(made)]
    if only_useful:
        left = [at for at in left if facts.reveals[at] @ weights > LEAST]
    setups = (() if free & set(facts.setups[at]) else facts.setups[at] for at in left)
    return Problem(
        places=tuple(left),
        minutes=facts.minutes[left],
        beside=facts.beside_minutes[left],
        false=facts.false_findings[left],
        reveals=facts.reveals[left],
        setups=tuple(tuple(number[name] for name in needed) for needed in setups),
        setup_names=names,
        setup_minutes=tuple(float(facts.setup_minutes[name]) for name in names),
        weights=weights,
        second_visit=float(facts.second_visit_minutes),
        implied=implied,
    )


def to_pay(problem: Problem, check: int, paid: Collection[int]) -> tuple[tuple[int, float], ...]:
    """Return the ways to set up for a check: the set-up to pay, or NONE, and its minutes."""
    needed = problem.setups[check]
    if not needed or any(setup in paid for setup in needed):
        return ((NONE, 0.0),)
    return tuple((setup, problem.setup_minutes[setup]) for setup in needed)
