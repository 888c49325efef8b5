"""Which check tells the two likeliest causes apart."""

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from analytics.causes.facts import CheckFacts
from analytics.causes.order_problem import LEAST, ready, to_pay


@dataclass(frozen=True)
class Apart:
    """The check that tells two causes apart.

    Parameters
    ----------
    likeliest, next : str
        The two likeliest causes.
    check : str
        The check.
    minutes : float
        Its hands-on minutes with the set-up that is not paid yet.
    finds_likeliest, finds_next : float
        Chance of a finding, 0..1, under either cause, false findings included.
    """

    likeliest: str
    next: str
    check: str
    minutes: float
    finds_likeliest: float
    finds_next: float


def tells_apart(
    facts: CheckFacts, posterior: ArrayLike, *, paid: Collection[str] = (), made: Collection[str] = ()
) -> Apart | None:
    """Find the check whose chances of a finding under the two likeliest causes differ most per minute.

    Parameters
    ----------
    facts : CheckFacts
        The checks.
    posterior : array-like of float, shape (k,)
        Chance of each cause, with all findings so far.
    paid, made : collection of str
        Set-ups in place, and checks made, whatever they said.

    Returns
    -------
    Apart or None
        None where there are no two possible causes, or no check tells them apart. Of checks that do so
        equally well, and of causes equally likely, the one that stands first in the facts.

    Raises
    ------
    BadQuestion
        When the posterior or a check does not fit the facts.
    """
    chances = facts.chances(posterior)
    facts.places(made)
    two = np.argsort(-chances, kind="stable")[:2]
    if len(two) < 2 or chances[two[1]] <= LEAST:
        return None
    problem = ready(facts, posterior, paid=paid, only_useful=False)
    minutes = problem.minutes + [
        min(way[1] for way in to_pay(problem, at, ())) for at in range(len(facts.codes))
    ]
    shown = facts.reveals[:, two]
    finds = shown + (1 - shown) * facts.false_findings[:, None]
    apart = np.abs(finds[:, 0] - finds[:, 1]) / np.maximum(minutes, LEAST)
    apart[facts.places(made)] = 0.0
    best = int(apart.argmax()) if len(apart) else 0
    if not len(apart) or apart[best] <= LEAST:
        return None
    return Apart(
        facts.causes[two[0]],
        facts.causes[two[1]],
        facts.codes[best],
        float(minutes[best]),
        float(finds[best, 0]),
        float(finds[best, 1]),
    )
