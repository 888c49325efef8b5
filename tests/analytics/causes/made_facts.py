"""Facts of checks made up for tests, in the shapes in which the program and its scripts take them."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from analytics.causes.facts import CheckFacts

SETUPS = {"front": 0.0, "bin_out": 3.0, "kick_plate": 4.0, "pulled_out": 8.0}
"""Minutes of the set-ups (from memory)."""


def facts_of(
    minutes: Sequence[float],
    reveals: Sequence[Sequence[float]] | np.ndarray,
    *,
    beside: Sequence[float] | None = None,
    setups: Sequence[Sequence[str]] | None = None,
    setup_minutes: dict[str, float] | None = None,
    false: Sequence[float] | None = None,
    visit: float = 1000.0,
) -> CheckFacts:
    """Return facts of checks c0, c1, ... and causes k0, k1, ...; what is not given is nothing."""
    n, k = np.shape(reveals)
    return CheckFacts(
        codes=tuple(f"c{at}" for at in range(n)),
        causes=tuple(f"k{at}" for at in range(k)),
        minutes=np.array(minutes, dtype=float),
        beside_minutes=np.array(beside if beside is not None else [0.0] * n),
        setups=tuple(tuple(names) for names in setups) if setups is not None else ((),) * n,
        setup_minutes=SETUPS if setup_minutes is None else setup_minutes,
        reveals=np.array(reveals, dtype=float),
        false_findings=np.array(false if false is not None else [0.0] * n),
        second_visit_minutes=visit,
    )


def one_each(minutes: Sequence[float]) -> CheckFacts:
    """Return facts in which each check reveals one cause of its own, for certain."""
    return facts_of(minutes, np.eye(len(minutes)))


def like_a_catalogue(rng: np.random.Generator, checks: int, causes: int, visit: float = 60.0) -> CheckFacts:
    """Return facts like those of a catalogue: a few causes a check, set-ups shared, two checks that wait."""
    ways = [["front"], ["bin_out"], ["pulled_out"], ["pulled_out"], ["kick_plate", "pulled_out"]]
    beside = np.zeros(checks)
    beside[rng.choice(checks, min(2, checks), replace=False)] = [5.0, 15.0][: min(2, checks)]
    shown = rng.random((checks, causes)) < max(3 / causes, 0.25)
    return facts_of(
        rng.uniform(2, 8, checks).tolist(),
        np.where(shown, rng.uniform(0.3, 0.95, (checks, causes)), 0.01),
        beside=beside.tolist(),
        setups=[ways[at] for at in rng.integers(0, len(ways), checks)],
        false=rng.uniform(0, 0.06, checks).tolist(),
        visit=visit,
    )


def posterior(rng: np.random.Generator, causes: int) -> np.ndarray:
    """Return chances in which a few causes are likely."""
    return rng.dirichlet(np.full(causes, 0.4))


def pack_of(facts: CheckFacts) -> dict[str, Any]:
    """Return facts as the pack that a page computes from."""
    return {
        "causes": {cause: {"whose": []} for cause in facts.causes},
        "checks": [
            {
                "code": code,
                "minutes": facts.minutes[at],
                "beside_minutes": facts.beside_minutes[at],
                "setups": list(facts.setups[at]),
                "reveals": {
                    cause: float(facts.reveals[at, i]) for i, cause in enumerate(facts.causes)
                    if facts.reveals[at, i]
                },
                "false_finding": facts.false_findings[at],
            }
            for at, code in enumerate(facts.codes)
        ],
        "setups": {code: {"minutes": minutes} for code, minutes in facts.setup_minutes.items()},
        "second_visit_minutes": facts.second_visit_minutes,
        "parts": {},
        "questions": [],
    }  # fmt: skip
