"""How repairs fare by what was checked: valves with and without evidence, and proof of the repair."""

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from analytics.questions.check_ground import (
    CHECKED,
    NO_VALVE,
    PROVED,
    UNCHECKED,
    WITH_EVIDENCE,
    WITHOUT_EVIDENCE,
    CheckGround,
    Flags,
)
from analytics.rates import Counted, Rate, rate
from analytics.statistics.difference import newcombe

PROOFS = {PROVED: "proved", CHECKED: "checked", UNCHECKED: "unchecked"}
PROOF_WORDS = {
    "proved": "proof of the repair seen",
    "checked": "checks recorded, no proof",
    "unchecked": "no check recorded",
}


class Repairs(Protocol):
    """The repairs that are looked at, as `checks.ChosenRepairs`."""

    @property
    def completed(self) -> Flags:
        """Those completed."""

    @property
    def judged(self) -> Flags:
        """Those that can be judged."""

    @property
    def came_back(self) -> Flags:
        """Those that came back."""

    @property
    def told(self) -> dict[str, Flags]:
        """By what the customer answered."""


@dataclass(frozen=True)
class Valves:
    """Valves fitted, by whether a check that is evidence for it is recorded on the call.

    Parameters
    ----------
    without_evidence : Rate
        Completed calls without any, of those on which a valve was fitted.
    recorders : Rate
        The same of technicians who record checks on at least half of their visits.
    came_back_without, came_back_with : Rate
        Callback rate, by the window and match asked for, of calls without and with evidence.
    difference, low, high : float or None
        The first less the second, and its 95% interval; None where one of them has no call.
    """

    without_evidence: Rate
    recorders: Rate
    came_back_without: Rate
    came_back_with: Rate
    difference: float | None
    low: float | None
    high: float | None


@dataclass(frozen=True)
class Proof:
    """Repairs by how far they were proved.

    Parameters
    ----------
    code, label : str
        proved (a check that proves a repair is recorded, and did not find a fault), checked (other checks
        are recorded), unchecked (none is); and the words for it.
    calls : int
        Completed calls.
    callback_rate : Rate
        By the window and match asked for.
    works : Rate
        Of the customers who said something when asked afterwards, those who said that it works.
    """

    code: str
    label: str
    calls: int
    callback_rate: Rate
    works: Rate


def valves(ground: CheckGround, here: Repairs) -> Valves:
    """Count valves fitted with and without evidence, and how often those calls came back."""
    fitted = here.completed & (ground.valve != NO_VALVE)
    without = here.completed & (ground.valve == WITHOUT_EVIDENCE)
    recording = ~ground.seldom
    bare = _came_back(here, ground.valve == WITHOUT_EVIDENCE)
    evident = _came_back(here, ground.valve == WITH_EVIDENCE)
    difference = low = high = None
    if bare.denominator and evident.denominator:
        difference = bare.numerator / bare.denominator - evident.numerator / evident.denominator
        low, high = newcombe((bare.numerator, bare.denominator), (evident.numerator, evident.denominator))
    return Valves(
        without_evidence=_rate(without, fitted, "valves_without_evidence"),
        recorders=_rate(without & recording, fitted & recording, "valves_without_evidence"),
        came_back_without=bare,
        came_back_with=evident,
        difference=difference,
        low=low,
        high=high,
    )


def proof(ground: CheckGround, here: Repairs, level: int) -> Proof:
    """Count the repairs proved so far; `level` is one of `PROOFS`."""
    code, so_far = PROOFS[level], ground.proof == level
    told = here.told["works"] | here.told["partly"] | here.told["no"]
    return Proof(
        code=code,
        label=PROOF_WORDS[code],
        calls=int(np.count_nonzero(here.completed & so_far)),
        callback_rate=_came_back(here, so_far),
        works=_rate(here.told["works"] & so_far, told & so_far, "works"),
    )


def _came_back(here: Repairs, which: Flags) -> Rate:
    young = int(np.count_nonzero(here.completed & ~here.judged & which))
    over, of = np.count_nonzero(here.came_back & which), np.count_nonzero(here.judged & which)
    return rate(Counted(int(over), int(of), inside_window=young, name="callback_rate"))


def _rate(over: Flags, of: Flags, name: str) -> Rate:
    return rate(Counted(int(np.count_nonzero(over)), int(np.count_nonzero(of)), name=name))
