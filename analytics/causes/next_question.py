"""Which intake answer to ask for next: the one that saves most minutes of checks on average."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from analytics.causes.facts import CheckFacts
from analytics.causes.order import minutes_of, order_of_checks
from analytics.causes.order_problem import LEAST
from analytics.errors import BadQuestion


@dataclass(frozen=True)
class Question:
    """What asking would save.

    Parameters
    ----------
    field : str
        The intake answer.
    saves_minutes : float
        Expected minutes to the fault now, less those with the answer; 0 or more.
    """

    field: str
    saves_minutes: float


def rank_questions(
    facts: CheckFacts,
    posterior: ArrayLike,
    questions: Mapping[str, tuple[ArrayLike, ArrayLike]],
    *,
    paid: Collection[str] = (),
    made: Collection[str] = (),
) -> list[Question]:
    """Rank unanswered questions by how much each answer is expected to save.

    Parameters
    ----------
    facts : CheckFacts
        The checks.
    posterior : array-like of float, shape (k,)
        Chances of the causes now.
    questions : mapping of str to (array-like, array-like)
        For each field: the chance of each of its l levels, shape (l,), and the chances of the causes after
        each, shape (l, k).
    paid, made : collection of str
        Set-ups in place, and checks made without a finding.

    Returns
    -------
    list of Question
        What saves most first; questions that save the same as they were given.

    Raises
    ------
    BadQuestion
        When shapes do not fit.

    Notes
    -----
    An answer saves minutes only when it changes the order: what it saves is the minutes of
    today's order under the chances after the answer, less those of the best order then, each by the ratio
    rule with the best place to stop. It is not below 0, since today's order can still be followed (expected
    value of sample information; Raiffa H, Schlaifer R (1961), Applied Statistical Decision Theory, from
    memory).
    """
    today = order_of_checks(facts, posterior, paid=paid, made=made, thorough=False).sequence
    ranked = [
        Question(
            field, _saved(facts, today, np.asarray(chances, float), np.asarray(after, float), paid, made)
        )
        for field, (chances, after) in questions.items()
    ]
    return sorted(ranked, key=lambda question: -round(question.saves_minutes, 9))


def _saved(
    facts: CheckFacts,
    today: tuple[str, ...],
    chances: np.ndarray,
    after: np.ndarray,
    paid: Collection[str],
    made: Collection[str],
) -> float:
    """Return the expected minutes saved by changing today's order to that of each level."""
    if chances.ndim != 1 or after.shape != (len(chances), len(facts.causes)):
        raise BadQuestion(
            f"A question has chances of shape {chances.shape} and posteriors of shape {after.shape}; "
            f"they should be (levels,) and (levels, {len(facts.causes)})."
        )
    saved = 0.0
    for chance, posterior in zip(chances, after, strict=True):
        if chance > LEAST:
            kept = minutes_of(facts, posterior, today, paid=paid, made=made)
            best = order_of_checks(facts, posterior, paid=paid, made=made, thorough=False)
            saved += chance * max(0.0, kept - best.expected_minutes)
    return float(saved / max(chances.sum(), LEAST))
