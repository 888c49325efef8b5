"""The clock of one sequence of checks: when each begins, when its result is taken in, what it costs.

Set-up is paid by the first check that needs it. A check that waits gives its result `beside` minutes after
it, and the result is taken in between two checks, as soon as it is there. Results that are there at one
moment are taken in in the order in which their checks were begun. When no check is left, the technician waits
for what is still to come.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from analytics.causes.facts import Floats
from analytics.causes.order_problem import LEAST, WAIT, Problem, to_pay

CLOSE = 1e-9
"""Minutes that count as the same moment."""


@dataclass(frozen=True)
class Walk:
    """What happens when nothing is found.

    Parameters
    ----------
    begun : tuple of (check, set-up, begins, ends)
        The checks in the order made, with the set-up that each pays or NONE, and the clock in minutes.
    results : tuple of (check, minutes)
        The checks in the order in which results are taken in, and the clock then.
    pending : tuple of (check, minutes)
        The checks whose result is still to come, and the clock when it is there.
    clock : float
        Minutes gone.
    """

    begun: tuple[tuple[int, int, float, float], ...] = ()
    results: tuple[tuple[int, float], ...] = ()
    pending: tuple[tuple[int, float], ...] = ()
    clock: float = 0.0


def walks(problem: Problem, sequence: Sequence[int]) -> Iterator[Walk]:
    """Yield the walk through a sequence for each choice among set-ups that will do."""

    def on(walk: Walk, at: int) -> Iterator[Walk]:
        if at == len(sequence):
            while walk.pending:
                walk = _waited(walk)
            yield walk
        elif sequence[at] == WAIT:
            yield from on(_waited(walk), at + 1)
        else:
            paid = {setup for _, setup, _, _ in walk.begun}
            for setup, minutes in to_pay(problem, sequence[at], paid):
                yield from on(_made(problem, walk, sequence[at], setup, minutes), at + 1)

    return on(Walk(), 0)


def _made(problem: Problem, walk: Walk, check: int, setup: int, setup_minutes: float) -> Walk:
    """Return the walk after one more check."""
    ends = walk.clock + setup_minutes + float(problem.minutes[check])
    begun = (*walk.begun, (check, setup, walk.clock, ends))
    pending = (*walk.pending, (check, ends + float(problem.beside[check])))
    return _taken_in(replace(walk, begun=begun, pending=pending, clock=ends))


def _waited(walk: Walk) -> Walk:
    """Return the walk after waiting for the next result; the same where none is to come."""
    if not walk.pending:
        return walk
    return _taken_in(replace(walk, clock=max(walk.clock, min(there for _, there in walk.pending))))


def _taken_in(walk: Walk) -> Walk:
    """Take in every result that is there."""
    there = tuple((check, walk.clock) for check, when in walk.pending if when <= walk.clock + CLOSE)
    left = tuple(each for each in walk.pending if each[1] > walk.clock + CLOSE)
    return replace(walk, results=walk.results + there, pending=left)


def minutes_by_cause(problem: Problem, walk: Walk) -> Floats:
    """Return the expected minutes of a walk when each cause is the one, shape (k,)."""
    at_work = np.ones(len(problem.weights))
    possible = problem.weights > LEAST
    minutes = np.zeros(len(problem.weights))
    if problem.implied and possible.sum() <= 1:
        return minutes
    for check, clock in walk.results:
        shown, false = problem.reveals[check], problem.false[check]
        minutes += at_work * (shown * clock + (1 - shown) * false * (clock + problem.second_visit))
        at_work = at_work * (1 - shown) * (1 - false)
        possible = possible & (shown < 1)
        if problem.implied and possible.sum() <= 1:
            return minutes + at_work * clock
    return minutes + at_work * (walk.clock + problem.second_visit)


def best_walk(problem: Problem, sequence: Sequence[int]) -> tuple[Walk, Floats]:
    """Return the walk through a sequence with the set-ups that cost least, and its minutes by cause, (k,).

    Of set-ups that cost the same, the one that stands first.
    """
    each = [(walk, minutes_by_cause(problem, walk)) for walk in walks(problem, sequence)]
    values = [float(problem.weights @ minutes) for _, minutes in each]
    least = min(values)
    return next(walk for walk, value in zip(each, values, strict=True) if value <= least + CLOSE)
