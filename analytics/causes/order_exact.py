"""The best order of few checks: memoised search over what has been made, paid for and is still to come."""

import math

import numpy as np

from analytics.causes.facts import Floats
from analytics.causes.order_problem import LEAST, WAIT, Problem, to_pay
from analytics.causes.order_walk import CLOSE

MOST_STATES = 40_000
"""States looked at before giving up: a fifth of a second; 8 checks, 2 of them waiting, need half of them."""

Pending = tuple[tuple[float, int], ...]
"""Checks whose result is still to come, in the order begun: minutes left, and which."""

STOP = -1
"""The move of stopping; the number of checks is that of waiting."""

State = tuple[int, int, Pending]
"""Checks with their result (bits), set-ups paid (bits), and what is to come."""


class TooMany(Exception):
    """The search looked at `MOST_STATES` states without an end."""


def exact_sequence(problem: Problem) -> list[int]:
    """Return the sequence of checks, with WAIT in it, that costs least.

    Of moves that cost the same: stopping, then the check that stands first in the facts, then waiting.

    Raises
    ------
    TooMany
        When there are too many states to look at them all.
    """
    return _Search(problem).sequence()


class _Search:
    """The search and what it remembers.

    The cost of a state is counted for the chance that work gets there unless a false finding has ended it, so
    that a false finding weighs the rest by 1 less its chance, and the chance depends on the checks alone.
    """

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        kept = np.ones((1, len(problem.weights)))
        for shown in problem.reveals:
            kept = np.concatenate([kept, kept * (1 - shown)])
        self.unfound: list[float] = (kept @ problem.weights).tolist()
        self.over: list[bool] = (np.array(self.unfound) <= LEAST).tolist()
        if problem.implied:
            self.over = (((kept > 0) & (problem.weights > LEAST)).sum(axis=1) <= 1).tolist()
        self.least: list[float] = _bounds(problem, kept).tolist()
        self.minutes: list[float] = problem.minutes.tolist()
        self.beside: list[float] = problem.beside.tolist()
        self.false: list[float] = problem.false.tolist()
        worth = problem.reveals @ problem.weights / np.maximum(problem.minutes, LEAST)
        self.by_worth: list[int] = np.argsort(-worth, kind="stable").tolist()
        self.ways = [
            tuple(to_pay(problem, check, {s for s in range(len(problem.setup_names)) if paid >> s & 1}))
            for paid in range(1 << len(problem.setup_names))
            for check in range(len(problem.minutes))
        ]
        self.known: dict[State, tuple[float, int, State | None]] = {}

    def sequence(self) -> list[int]:
        """Follow the best moves from the start."""
        state: State | None = (0, 0, ())
        moves: list[int] = []
        while state is not None:
            _, move, after = self.best(state)
            if after is not None:
                moves.append(move if move < len(self.minutes) else WAIT)
            state = after
        return moves

    def best(self, state: State) -> tuple[float, int, State | None]:
        """Return the cost of a state, its best move and the state after it, None after the last."""
        known = self.known.get(state)
        if known is not None:
            return known
        made, paid, pending = state
        unfound, count = self.unfound[made], len(self.minutes)
        best: tuple[float, int, State | None]
        # what has been begun is waited for
        stop = math.inf if pending else self.problem.second_visit * unfound
        best = (0.0 if self.over[made] else stop, STOP, None)
        if not self.over[made]:
            busy = made
            for _, check in pending:
                busy |= 1 << check
            for check in self.by_worth:
                if not busy >> check & 1:
                    rest = self.least[busy | 1 << check]
                    for setup, more in self.ways[paid * count + check]:
                        cost = more + self.minutes[check]
                        if cost * unfound + rest <= best[0] + CLOSE:
                            after = paid if setup < 0 else paid | 1 << setup
                            begun = (*pending, (self.beside[check] + cost, check))
                            best = self.better(best, check, unfound, cost, (made, after, begun))
            if pending:
                cost = min(minutes for minutes, _ in pending)
                best = self.better(best, count, unfound, cost, state)
        if len(self.known) >= MOST_STATES:
            raise TooMany
        self.known[state] = best
        return best

    def better(
        self, best: tuple[float, int, State | None], move: int, unfound: float, cost: float, state: State
    ) -> tuple[float, int, State | None]:
        """Return the better of two moves, the second of which takes minutes before results are taken in."""
        made, paid, pending = state
        value, weight, to_come = cost * unfound, 1.0, []
        for minutes, check in pending:
            if minutes > cost + CLOSE:
                to_come.append((round(minutes - cost, 9), check))
                continue
            over = self.over[made]
            made |= 1 << check
            if not over:
                value += weight * self.false[check] * self.problem.second_visit * self.unfound[made]
            weight *= 1 - self.false[check]
        after = (made, paid, tuple(to_come))
        value += weight * self.best(after)[0]
        if value < best[0] - CLOSE or (value <= best[0] + CLOSE and move < best[1]):
            return (value, move, after)
        return best


def _bounds(problem: Problem, kept: Floats) -> Floats:
    """Return what the rest costs at least after each set of checks, as bits, shape (2 ** n,).

    The best prefix by ratio of the checks left, see `order_bound`; nothing where a cause may be implied.
    """
    sets, checks = len(kept), len(problem.minutes)
    if problem.implied:
        return np.zeros(sets)
    made = np.arange(sets)[:, None] >> np.arange(checks) & 1
    shown = np.where(made, 0.0, (kept * problem.weights) @ problem.reveals.T)
    by_ratio = np.argsort(-shown / np.maximum(problem.minutes, LEAST), axis=1, kind="stable")
    shown = np.take_along_axis(shown, by_ratio, axis=1)
    start = np.zeros((sets, 1))
    left = (kept @ problem.weights)[:, None] - np.concatenate([start, np.cumsum(shown, axis=1)], axis=1)
    paid = np.concatenate([start, np.cumsum(problem.minutes[by_ratio] * left[:, :-1], axis=1)], axis=1)
    return np.maximum(0.0, (paid + problem.second_visit * left).min(axis=1))
