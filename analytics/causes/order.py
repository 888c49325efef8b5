"""In which order to make checks, so that finding the fault takes the fewest minutes on average.

The model. One cause is there, with the chance that the posterior gives it. Results of checks are independent
given the cause: a check finds the fault with the chance `reveals` of that cause, and work on it ends.
Otherwise it gives a false finding with the chance `false_findings`; then work stops on the wrong thing, and a
second visit is paid. A fault still unfound when the technician stops costs the second visit too; stopping
early is allowed. A set-up is paid once a visit, by the first check that needs it. A check that waits takes
its hands-on minutes, and gives its result `beside_minutes` after them; meanwhile others are made, and where
none is worth making the technician waits.

A check with the last chance of a finding tells nothing that changes this: as long as nothing is found there
is one way on, so that an order is a sequence. Up to `EXACT` checks that can find something it is the best
there is; beyond, it is a good one, and `bound` says how much better any could be.

Source: Kadane JB, Simon HA (1977), Annals of Statistics 5:237-255; Kalagnanam J, Henrion M (1988),
Uncertainty in Artificial Intelligence 4; Heckerman D, Breese JS, Rommelse K (1995), Communications of the ACM
38(3):49-57.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from numpy.typing import ArrayLike

from analytics.causes.facts import CheckFacts, Floats
from analytics.causes.order_bound import lower_bound
from analytics.causes.order_exact import TooMany, exact_sequence
from analytics.causes.order_problem import NONE, Problem, ready
from analytics.causes.order_problem import WAIT as WAIT_PLACE
from analytics.causes.order_search import good_sequence, with_waits
from analytics.causes.order_walk import Walk, best_walk

EXACT = 8
"""Checks up to which every order is looked at."""

WAIT = ""
"""In a sequence of codes: wait until the next result is there."""


@dataclass(frozen=True)
class Step:
    """One check of an order.

    Parameters
    ----------
    check : str
        The check.
    setup : str
        The set-up to pay for it, "" where none is.
    setup_minutes, minutes : float
        Minutes of that set-up, and hands-on minutes of the check.
    waits_first : float
        Minutes without work before it, waiting for a result that comes before.
    clock_minutes : float
        When its result is taken in, as long as nothing was found before: minutes from the start.
    finds : float
        Chance, from the start, that its result shows the fault.
    unfound : float
        Chance that the fault is still unfound once its result is taken in.
    """

    check: str
    setup: str
    setup_minutes: float
    minutes: float
    waits_first: float
    clock_minutes: float
    finds: float
    unfound: float


@dataclass(frozen=True)
class Order:
    """An order of checks and what it is worth.

    Parameters
    ----------
    steps : tuple of Step
        The checks worth making, in order; work stops after the last.
    expected_minutes : float
        Minutes to the fault on average, second visits included.
    bound : float
        Expected minutes that no order can come below; the same as `expected_minutes` where `exact`.
    exact : bool
        Whether every order was looked at.
    sequence : tuple of str
        Codes of the checks, with WAIT where the technician waits before going on.
    """

    steps: tuple[Step, ...]
    expected_minutes: float
    bound: float
    exact: bool
    sequence: tuple[str, ...]

    @property
    def gap(self) -> float:
        """Share, 0..1, by which the best order could be below `expected_minutes` at most."""
        return 1 - self.bound / self.expected_minutes if self.expected_minutes > 0 else 0.0


def order_of_checks(
    facts: CheckFacts,
    posterior: ArrayLike,
    *,
    paid: Collection[str] = (),
    made: Collection[str] = (),
    implied: bool = False,
    thorough: bool = True,
) -> Order:
    """Find the order of checks that takes the fewest expected minutes.

    Parameters
    ----------
    facts : CheckFacts
        The n checks and k causes.
    posterior : array-like of float, shape (k,)
        Chance of each cause, before the checks in `made`.
    paid : collection of str
        Set-ups in place already.
    made : collection of str
        Checks made without a finding.
    implied : bool
        Whether the last cause left counts as found without its check.
    thorough : bool
        Without: the ratio rule and the best place to stop, in a millisecond, for comparing many.

    Returns
    -------
    Order
        Of orders that cost the same to a billionth of a minute the first: stopping, then checks in the order
        of the facts, then waiting.

    Raises
    ------
    BadQuestion
        When the posterior or a code does not fit the facts.

    Examples
    --------
    Causes of .3, .3, .2 and .2; one check reveals all, two cheaper ones the half of them each.

    >>> facts = CheckFacts(
    ...     codes=("all", "one", "other"), causes=("a", "b", "c", "d"), minutes=[9.9, 5, 5],
    ...     beside_minutes=[0, 0, 0], setups=((), (), ()), setup_minutes={}, false_findings=[0, 0, 0],
    ...     reveals=[[1, 1, 1, 1], [0, 1, 0, 1], [1, 0, 1, 0]], second_visit_minutes=60)
    >>> order = order_of_checks(facts, [0.3, 0.3, 0.2, 0.2])
    >>> order.sequence, round(order.expected_minutes, 6)
    (('one', 'other'), 7.5)
    """
    problem = ready(facts, posterior, paid=paid, made=made, implied=implied)
    exact = thorough and len(problem.minutes) <= EXACT
    if exact:
        try:
            sequence = exact_sequence(problem)
        except TooMany:
            exact = False
    if not exact:
        sequence, _ = good_sequence(problem, improve=thorough)
        sequence = with_waits(problem, sequence) if thorough else sequence
    walk, minutes = best_walk(problem, sequence)
    expected = float(problem.weights @ minutes)
    return Order(
        steps=_steps(facts, problem, walk),
        expected_minutes=expected,
        bound=expected if exact else min(expected, lower_bound(problem)),
        exact=exact,
        sequence=tuple(WAIT if at == WAIT_PLACE else facts.codes[problem.places[at]] for at in sequence),
    )


def minutes_of(
    facts: CheckFacts,
    posterior: ArrayLike,
    sequence: Sequence[str],
    *,
    paid: Collection[str] = (),
    made: Collection[str] = (),
    implied: bool = False,
) -> float:
    """Return the expected minutes of a given sequence of checks; see `minutes_by_cause`."""
    problem, places = _given(facts, posterior, sequence, paid, made, implied)
    return float(problem.weights @ best_walk(problem, places)[1])


def minutes_by_cause(
    facts: CheckFacts,
    posterior: ArrayLike,
    sequence: Sequence[str],
    *,
    paid: Collection[str] = (),
    made: Collection[str] = (),
    implied: bool = False,
) -> Floats:
    """Return the expected minutes of a given sequence when each cause is the one, shape (k,).

    Parameters
    ----------
    facts, posterior, paid, made, implied
        As for `order_of_checks`; the posterior serves to choose among set-ups, and for `implied`.
    sequence : sequence of str
        Checks one after the other, each counted once, with WAIT to wait for the next result. After the last,
        results still to come are waited for; a fault unfound then costs the second visit.

    Raises
    ------
    BadQuestion
        When the posterior or a code does not fit the facts.
    """
    problem, places = _given(facts, posterior, sequence, paid, made, implied)
    return best_walk(problem, places)[1]


def _given(
    facts: CheckFacts,
    posterior: ArrayLike,
    sequence: Sequence[str],
    paid: Collection[str],
    made: Collection[str],
    implied: bool,
) -> tuple[Problem, list[int]]:
    """Return the problem, useless checks included, and a sequence in its numbers, each check once."""
    problem = ready(facts, posterior, paid=paid, made=made, implied=implied, only_useful=False)
    number = {place: at for at, place in enumerate(problem.places)}
    places: list[int] = []
    for code in sequence:
        place = WAIT_PLACE if code == WAIT else number.get(facts.places([code])[0])
        if place is not None and (place == WAIT_PLACE or place not in places):
            places.append(place)
    return problem, places


def _steps(facts: CheckFacts, problem: Problem, walk: Walk) -> tuple[Step, ...]:
    """Describe a walk check by check."""
    at_work, left, unfound = 1.0, problem.weights, 1.0
    result: dict[int, tuple[float, float, float]] = {}
    for check, clock in walk.results:
        finds = at_work * float(left @ problem.reveals[check])
        left = left * (1 - problem.reveals[check])
        at_work *= 1 - float(problem.false[check])
        unfound -= finds
        result[check] = (clock, finds, max(unfound, 0.0))
    steps, before = [], 0.0
    for check, setup, begins, ends in walk.begun:
        pays = 0.0 if setup == NONE else problem.setup_minutes[setup]
        steps.append(
            Step(
                facts.codes[problem.places[check]],
                "" if setup == NONE else problem.setup_names[setup],
                pays,
                float(problem.minutes[check]),
                begins - before,
                *result[check],
            )
        )
        before = ends
    return tuple(steps)
