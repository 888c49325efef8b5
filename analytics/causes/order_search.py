"""A good order of many checks: the ratio rule, then better orders a small change away, many at a time."""

from itertools import permutations

import numpy as np
from numpy.typing import NDArray

from analytics.causes.facts import Floats
from analytics.causes.order_problem import LEAST, NONE, WAIT, Problem
from analytics.causes.order_walk import CLOSE, best_walk

Ints = NDArray[np.int64]
WINDOW = 5
"""Checks in a row of which every order is tried."""

FIRST = 11
"""Places at the front within which checks are moved; later ones are seldom reached."""

ROUNDS = 2
"""Times that moving single checks is tried, as long as it helps."""


def good_sequence(problem: Problem, improve: bool = True) -> tuple[list[int], float]:
    """Return a good sequence of checks and its expected minutes, the set-ups chosen as by the ratio rule.

    Parameters
    ----------
    problem : Problem
        The n checks.
    improve : bool
        Look for better orders around the ratio rule; without, only for the best place to stop.
    """
    count = len(problem.minutes)
    if problem.implied and (problem.weights > LEAST).sum() <= 1:
        return [], 0.0
    ratio, setups = ratio_rule(problem)
    best, value = _least(problem, setups, _prefixes(np.array(ratio, dtype=np.int64), count))
    together, others = ratio_rule(problem, shared=True)
    start, lower = _least(problem, others, _prefixes(np.array(together, dtype=np.int64), count))
    if lower < value - CLOSE:
        best, value, setups = start, lower, others
    if not improve or not len(best):
        return _plain(best, count), value
    for at in range(0, max(1, min(FIRST, count) - WINDOW + 1), 2):
        best, value = _least(problem, setups, _windows(best, at))
    for _ in range(ROUNDS):
        moved, lower = _least(problem, setups, _moves(best, count))
        if lower >= value - CLOSE:
            break
        best, value = moved, lower
        best, value = _least(problem, setups, _windows(best, 0))
    return _plain(best, count), value


def ratio_rule(problem: Problem, shared: bool = False) -> tuple[list[int], Ints]:
    """Order all checks by chance of finding per minute, reckoned anew after each.

    Parameters
    ----------
    problem : Problem
        The n checks.
    shared : bool
        Share a set-up not paid yet out among the checks that need it, by what they can find; without, each
        check is held to need it alone.

    Returns
    -------
    sequence : list of int
        The checks; of equal ratios the one that stands first.
    setups : array of int, shape (n + 1,)
        The set-up that each check uses, or NONE; the last is for a place without a check.

    Notes
    -----
    The minutes of a check are its own, its set-up when that is not paid yet, and its chance of a false
    finding times the second visit.
    """
    count = len(problem.minutes)
    left, open_ = problem.weights, np.ones(count, dtype=bool)
    own = problem.minutes + problem.false * problem.second_visit
    price = np.array([*problem.setup_minutes, 0.0])
    cheapest = [min(needed, key=price.__getitem__, default=NONE) for needed in problem.setups]
    uses = np.array([*cheapest, NONE], dtype=np.int64)
    to_pay = uses[:-1].copy()
    sequence: list[int] = []
    for _ in range(count):
        gain = np.where(open_, problem.reveals @ left, 0.0)
        setup_minutes = price[to_pay]
        if shared:
            together = np.bincount(to_pay + 1, weights=gain, minlength=len(price) + 1)[to_pay + 1]
            setup_minutes = setup_minutes * gain / np.maximum(together, LEAST)
        ratio = np.where(open_, gain / np.maximum(own + setup_minutes, LEAST), -1.0)
        chosen = int(ratio.argmax())
        open_[chosen] = False
        sequence.append(chosen)
        paid = int(to_pay[chosen])
        if paid != NONE:
            for check, needed in enumerate(problem.setups):
                if to_pay[check] != NONE and paid in needed:
                    uses[check], to_pay[check] = paid, NONE
        left = left * (1 - problem.reveals[chosen])
    return sequence, uses


def minutes_of_many(problem: Problem, setups: Ints, sequences: Ints) -> Floats:
    """Return the expected minutes of sequences, each check with its one set-up, shape (sequences,).

    Parameters
    ----------
    problem : Problem
        The n checks.
    setups : array of int, shape (n + 1,)
        Set-up of each check, or NONE.
    sequences : array of int, shape (sequences, places)
        Checks in order; n where there is none. Nothing is waited for before the last check is made.
    """
    minutes = np.append(problem.minutes, 0.0)[sequences]
    rows, needed = np.arange(len(sequences)), setups[sequences]
    for setup, more in enumerate(problem.setup_minutes):
        here = needed == setup
        minutes[rows, here.argmax(axis=1)] += more * here.any(axis=1)
    clock = np.cumsum(minutes, axis=1)
    if (problem.beside > 0).any():
        clock, sequences = _taken_in(problem, clock, sequences)
    false = np.append(problem.false, 0.0)[sequences]
    reveals = np.concatenate([problem.reveals, np.zeros((1, len(problem.weights)))])
    kept = np.cumprod((1 - reveals)[sequences], axis=1)
    unfound = np.pad(kept @ problem.weights, ((0, 0), (1, 0)), constant_values=problem.weights.sum())
    at_work = np.pad(np.cumprod(1 - false, axis=1), ((0, 0), (1, 0)), constant_values=1.0)
    visit = problem.second_visit
    false_cost = unfound[:, 1:] * false * (clock + visit)
    costs = at_work[:, :-1] * (-np.diff(unfound, axis=1) * clock + false_cost)
    ends = at_work[:, 1:] * unfound[:, 1:] * clock
    if problem.implied:
        over = ((kept > 0) & (problem.weights > LEAST)).sum(axis=2) <= 1
        first, any_over = over.argmax(axis=1), over.any(axis=1)
        # false findings together with the last cause count after it in one moment: they end the walk first
        costs = np.where(any_over[:, None] & (np.arange(costs.shape[1]) > first[:, None]), 0.0, costs)
        end = np.where(any_over, ends[rows, first], ends[:, -1] + at_work[:, -1] * unfound[:, -1] * visit)
        return costs.sum(axis=1) + end
    return costs.sum(axis=1) + ends[:, -1] + at_work[:, -1] * unfound[:, -1] * visit


def with_waits(problem: Problem, sequence: list[int]) -> list[int]:
    """Return a sequence with the one wait for a result, between two checks, that saves most; if any does."""
    waiting = [at for at, check in enumerate(sequence[:-1]) if problem.beside[check] > 0]
    best, value = sequence, _value(problem, sequence)
    for at in range(waiting[0] + 1 if waiting else len(sequence), len(sequence)):
        waits = [*sequence[:at], WAIT, *sequence[at:]]
        lower = _value(problem, waits)
        if lower < value - CLOSE:
            best, value = waits, lower
    return best


def _value(problem: Problem, sequence: list[int]) -> float:
    """Return the expected minutes of a sequence that may hold waits."""
    return float(problem.weights @ best_walk(problem, sequence)[1])


def _taken_in(problem: Problem, clock: Floats, sequences: Ints) -> tuple[Floats, Ints]:
    """Return when each result is taken in and whose it is, both in the order of the clock."""
    taken, rows, places = clock.copy(), np.arange(len(clock)), np.arange(clock.shape[1])
    for check in np.flatnonzero(problem.beside > 0):
        here = sequences == check
        begun = here.argmax(axis=1)
        there = clock[rows, begun] + problem.beside[check]
        between = (clock >= there[:, None] - CLOSE) & (places > begun[:, None])
        when = np.where(between.any(axis=1), clock[rows, between.argmax(axis=1)], there)
        taken[rows, begun] = np.where(here.any(axis=1), when, taken[rows, begun])
    order = np.argsort(taken, axis=1, kind="stable")
    return np.take_along_axis(taken, order, axis=1), np.take_along_axis(sequences, order, axis=1)


def _least(problem: Problem, setups: Ints, sequences: Ints) -> tuple[Ints, float]:
    """Return the sequence that costs least, the first of those within `CLOSE`, and its minutes."""
    values = minutes_of_many(problem, setups, sequences)
    at = int(np.argmax(values <= values.min() + CLOSE))
    return sequences[at], float(values[at])


def _prefixes(sequence: Ints, none: int) -> Ints:
    """Return the beginnings of a sequence, the shortest first, each as long as itself."""
    places = np.arange(len(sequence))
    return np.where(places[None, :] < np.arange(len(sequence) + 1)[:, None], sequence, none)


def _windows(sequence: Ints, at: int) -> Ints:
    """Return a sequence with every order of `WINDOW` checks from a place on, itself first."""
    size = min(WINDOW, len(sequence) - at)
    changed = np.tile(sequence, (len(_orders(size)), 1))
    changed[:, at : at + size] = sequence[at : at + size][_orders(size)]
    return changed


def _orders(size: int) -> Ints:
    """Return every order of so many, that of the numbers first."""
    return np.array(list(permutations(range(size))), dtype=np.int64)


def _moves(sequence: Ints, none: int) -> Ints:
    """Return a sequence with one check left out, or put at one of the first places; and its beginnings."""
    made = _plain(sequence, none)
    changed: list[list[int]] = []
    for check in [*made, *(each for each in range(none) if each not in made)]:
        rest = [each for each in made if each != check]
        changed.append(rest)
        changed += ([*rest[:at], check, *rest[at:]] for at in range(min(FIRST, len(rest) + 1)))
    padded = [row + [none] * (len(sequence) - len(row)) for row in changed]
    return np.concatenate([_prefixes(sequence, none), np.array(padded, dtype=np.int64)])


def _plain(sequence: Ints, none: int) -> list[int]:
    """Return a sequence without the places that hold no check."""
    return [int(check) for check in sequence if check != none]
