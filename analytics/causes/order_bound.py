"""What no order of checks can beat: a lower bound on the expected minutes to the fault.

Let a(j) be the chance, from now, that check j shows the fault, and C the chance that all together do. Proof.
1. A false finding costs a second visit, and so at least what going on costs (who goes on may stop at that
price): leave it out, and waiting too. Each set-up is shared out among the checks that need it, in all no more
than is paid before the first of them. 2. What check j adds to what is found is at most a(j), and together at
most C; hence by time t at most F(t) is found, the fractional knapsack by a(j) per minute, capped at C, and
until work stops at s at least the integral of 1 - F to s is paid, then the second visit for 1 - F(s). What is
found within a check is known at its end only: half its minutes more, at least H(F(s)) in all, the cheapest
way to find F(s) at a(j) a check. 3. Without the cap, a check costs its minutes for all that is not found
before it, which is the weighted sum of completion times, least in the order of a(j) per minute (Smith), and a
check worth making is worth making after all of a better ratio: the best prefix is a bound too. The larger of
both is taken.

Source: Smith WE (1956), Naval Research Logistics Quarterly 3:59-66; for half the minutes: mean busy times,
Goemans MX and others (2002), SIAM Journal on Discrete Mathematics 15:165-192 (both from memory).
"""

import numpy as np

from analytics.causes.facts import Floats
from analytics.causes.order_problem import LEAST, NONE, Problem


def lower_bound(problem: Problem) -> float:
    """Return expected minutes that no order can come below.

    Where the last cause left counts as found, one cause costs nothing, whichever that is: the least of the
    bounds without one cause.
    """
    if not problem.implied:
        return _bound(problem, problem.weights)
    return min(_bound(problem, np.delete(problem.weights, at), at) for at in range(len(problem.weights)))


def _bound(problem: Problem, weights: Floats, without: int | None = None) -> float:
    """Return the bound for chances that need not sum to 1."""
    reveals = problem.reveals if without is None else np.delete(problem.reveals, without, axis=1)
    shown = reveals @ weights
    minutes = problem.minutes + _shares_of_setups(problem, shown)
    by_ratio = np.argsort(-shown / np.maximum(minutes, LEAST), kind="stable")
    shown, minutes = shown[by_ratio], minutes[by_ratio]
    findable = float(weights @ (1 - (1 - reveals).prod(axis=0)))
    whole = float(weights.sum())
    return max(
        _without_cap(shown, minutes, whole, problem.second_visit),
        _with_cap(shown, minutes, whole, findable, problem.second_visit),
    )


def _shares_of_setups(problem: Problem, shown: Floats) -> Floats:
    """Return minutes of set-up for each check, shape (n,): of each set-up by what its checks can show.

    Nothing for a check with a choice of set-ups, which may be paid for by others.
    """
    only = np.array([needed[0] if len(needed) == 1 else NONE for needed in problem.setups], dtype=np.int64)
    shares = np.zeros(len(shown))
    for setup, minutes in enumerate(problem.setup_minutes):
        here = only == setup
        shares[here] = minutes * shown[here] / max(shown[here].sum(), LEAST)
    return shares


def _without_cap(shown: Floats, minutes: Floats, whole: float, second_visit: float) -> float:
    """Return the best prefix of the order by ratio, each check adding all that it can show."""
    left = whole - np.concatenate([[0.0], np.cumsum(shown)])
    paid = np.concatenate([[0.0], np.cumsum(minutes * left[:-1])])
    return float((paid + second_visit * left).min())


def _with_cap(shown: Floats, minutes: Floats, whole: float, findable: float, second_visit: float) -> float:
    """Return the bound from what can be found by a time at most, not above what can be found at all."""
    found = np.concatenate([[0.0], np.cumsum(shown)])
    times = np.concatenate([[0.0], np.cumsum(minutes)])
    # half the minutes of a check for what it finds; more than a second visit would never be paid
    by_minutes = np.argsort(minutes, kind="stable")
    levels = np.concatenate([[0.0], np.cumsum(shown[by_minutes])])
    slopes = np.minimum(minutes[by_minutes] / 2, second_visit)
    halves = np.concatenate([[0.0], np.cumsum(slopes * shown[by_minutes])])
    # between two of these points the cost is concave in the time of stopping: its least lies on one of them
    points = np.unique(np.clip(np.concatenate([found, levels]), 0.0, min(findable, found[-1])))
    at = np.interp(points, found, times)
    steps = np.diff(at) * (whole - (points[1:] + points[:-1]) / 2)
    paid = np.concatenate([[0.0], np.cumsum(steps)])
    return float((paid + np.interp(points, levels, halves) + second_visit * (whole - points)).min())
