"""Orders of checks by brute force: every plan, every outcome, a clock that is moved by hand.

Written from the description of the model alone; nothing of the program is used. A plan is a list of moves
that is followed as long as nothing is found: a check with the set-up used for it, or a wait for the next
result.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

import numpy as np

Move = tuple[str, int, str]
"""What, which check, and with which set-up."""


@dataclass(frozen=True)
class Case:
    """One problem in plain lists."""

    p: list[float]
    minutes: list[float]
    beside: list[float]
    setups: list[list[str]]
    setup_minutes: dict[str, float]
    reveals: list[list[float]]
    false: list[float]
    visit: float


def plans(case: Case, begun: tuple[Move, ...] = ()) -> Iterator[tuple[Move, ...]]:
    """Yield every plan: every order of every subset, with waits, with each way to set up."""
    yield begun
    made = {check for what, check, _ in begun if what == "check"}
    for check in range(len(case.minutes)):
        if check not in made:
            for setup in case.setups[check] or [""]:
                yield from plans(case, (*begun, ("check", check, setup)))
    waited = sum(what == "wait" for what, _, _ in begun)
    if waited < sum(case.beside[check] > 0 for check in made):
        yield from plans(case, (*begun, ("wait", -1, "")))


def played(case: Case, plan: tuple[Move, ...], outcome: tuple[str, ...]) -> float:
    """Return the minutes of one visit on which each check comes out as given: shown, astray or nothing."""
    clock, paid, to_come = 0.0, set(), []
    # whoever has begun a check that waits stays for its result
    for what, check, setup in (*plan, *[("wait", -1, "")] * len(plan)):
        if what == "wait":
            if not to_come:
                continue
            clock = max(clock, min(ready for ready, _ in to_come))
        else:
            if setup and not paid & set(case.setups[check]):
                clock += case.setup_minutes[setup]
                paid.add(setup)
            clock += case.minutes[check]
            to_come.append((clock + case.beside[check], check))
        for ready, waiting in list(to_come):
            if ready <= clock + 1e-9:
                to_come.remove((ready, waiting))
                if outcome[waiting] == "shown":
                    return clock
                if outcome[waiting] == "astray":
                    return clock + case.visit
    return clock + case.visit


def by_cause(case: Case, plan: tuple[Move, ...]) -> list[float]:
    """Return the expected minutes of a plan for each cause, over every outcome of every check."""
    expected = [0.0] * len(case.p)
    for outcome in product(("shown", "astray", "nothing"), repeat=len(case.minutes)):
        minutes = played(case, plan, outcome)
        for cause in range(len(case.p)):
            chance = 1.0
            for check, result in enumerate(outcome):
                shows, false = case.reveals[check][cause], case.false[check]
                chance *= {
                    "shown": shows, "astray": (1 - shows) * false, "nothing": (1 - shows) * (1 - false)
                }[result]  # fmt: skip
            expected[cause] += chance * minutes
    return expected


def least_minutes(case: Case) -> float:
    """Return what the best of all plans costs."""
    chance = np.array(case.p)
    return min(float(chance @ by_cause(case, plan)) for plan in plans(case))


def random_case(rng: np.random.Generator, checks: int, causes: int) -> Case:
    """Return a problem with shared causes, false findings, set-ups with alternatives, and waiting checks."""
    names = ["bin", "kick plate", "pulled out"]
    certain = rng.random() < 0.3
    reveals = rng.choice([0.0, 0.5, 0.9, 1.0] if not certain else [0.0, 1.0], (checks, causes))
    p = rng.dirichlet(np.ones(causes))
    return Case(
        p=p.tolist(),
        minutes=rng.integers(0 if rng.random() < 0.2 else 1, 12, checks).astype(float).tolist(),
        beside=np.where(rng.random(checks) < 0.35, rng.integers(3, 20, checks), 0).astype(float).tolist(),
        setups=[list(rng.choice(names, rng.choice([0, 1, 1, 2]), replace=False)) for _ in range(checks)],
        setup_minutes={name: float(rng.integers(1, 10)) for name in names},
        reveals=(reveals * rng.uniform(0.8, 1.0, reveals.shape) if not certain else reveals).tolist(),
        false=np.where(rng.random(checks) < 0.5, rng.uniform(0, 0.3, checks), 0.0).tolist(),
        visit=float(rng.choice([10, 30, 60, 500])),
    )
