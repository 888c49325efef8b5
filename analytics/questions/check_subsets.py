"""The calls behind the numbers about checks: which rows of marts.calls they are."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from analytics.questions.check_ground import (
    CHECKED,
    NO_VALVE,
    PROVED,
    UNCHECKED,
    VERDICTS,
    WITH_EVIDENCE,
    WITHOUT_EVIDENCE,
    CheckGround,
    Flags,
)
from analytics.questions.checks import ChosenRepairs
from analytics.questions.subsets import OF_A_CHECK

_SIMPLE: dict[str, Callable[[CheckGround, ChosenRepairs], Flags]] = {
    "valve_fitted": lambda on, here: here.completed & (on.valve != NO_VALVE),
    "valve_without_evidence": lambda on, here: here.completed & (on.valve == WITHOUT_EVIDENCE),
    "valve_without_evidence_judged": lambda on, here: here.judged & (on.valve == WITHOUT_EVIDENCE),
    "valve_without_evidence_came_back": lambda on, here: here.came_back & (on.valve == WITHOUT_EVIDENCE),
    "valve_with_evidence_judged": lambda on, here: here.judged & (on.valve == WITH_EVIDENCE),
    "valve_with_evidence_came_back": lambda on, here: here.came_back & (on.valve == WITH_EVIDENCE),
    "proved": lambda on, here: here.completed & (on.proof == PROVED),
    "proved_judged": lambda on, here: here.judged & (on.proof == PROVED),
    "proved_came_back": lambda on, here: here.came_back & (on.proof == PROVED),
    "proved_works": lambda on, here: here.told["works"] & (on.proof == PROVED),
    "checked": lambda on, here: here.completed & (on.proof == CHECKED),
    "checked_judged": lambda on, here: here.judged & (on.proof == CHECKED),
    "checked_came_back": lambda on, here: here.came_back & (on.proof == CHECKED),
    "checked_works": lambda on, here: here.told["works"] & (on.proof == CHECKED),
    "unchecked": lambda on, here: here.completed & (on.proof == UNCHECKED),
    "unchecked_judged": lambda on, here: here.judged & (on.proof == UNCHECKED),
    "unchecked_came_back": lambda on, here: here.came_back & (on.proof == UNCHECKED),
    "unchecked_works": lambda on, here: here.told["works"] & (on.proof == UNCHECKED),
    "checks_settled": lambda on, here: here.settled & (on.proof > UNCHECKED),
    "checks_too_soon": lambda on, here: (
        here.chosen & (on.proof > UNCHECKED) & ~np.isnat(on.last_closed) & ~here.settled
    ),
}
CHECK_SUBSETS = frozenset({*OF_A_CHECK, *_SIMPLE, "check_back", "check_left_out"})


def rows_of(ground: CheckGround, here: ChosenRepairs, subset: str, check: str = "") -> NDArray[np.int64]:
    """Return the rows of a subset, in order.

    Parameters
    ----------
    ground, here
        As for `checks.checks`.
    subset : str
        One of `CHECK_SUBSETS`.
    check : str
        Of those `OF_A_CHECK`, only the calls of this check; "" for any check.
    """
    if subset in _SIMPLE:
        return np.flatnonzero(_SIMPLE[subset](ground, here))
    if subset == "check_not_recorded":
        missing = ground.unrecorded.checks.filter(~ground.unrecorded.checks["seldom"])
        rows = missing.filter(missing["check"] == check) if check else missing
    elif subset == "check_back":
        rows = ground.unrecorded.calls.filter(~ground.unrecorded.calls["seldom"])
    elif subset == "check_left_out":
        rows = ground.unrecorded.calls.filter("seldom")
    else:
        return _with_verdict(ground, here, subset.removeprefix("check_"), check)
    return np.flatnonzero(ground.flags(rows["row_id"].to_numpy()) & here.settled)


def _with_verdict(ground: CheckGround, here: ChosenRepairs, verdict: str, check: str) -> NDArray[np.int64]:
    made = ground.made
    cells = [at for at, code in enumerate(made.cells["check"]) if check in ("", code)]
    wanted = None if verdict == "made" else VERDICTS.index(verdict)
    calls = [made.calls_of(cell, wanted) for cell in cells]
    return np.flatnonzero(ground.flags(np.concatenate([*calls, made.call[:0]])) & here.settled)
