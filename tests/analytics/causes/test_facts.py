"""Facts of checks: what does not fit is said, with the value and what is legal."""

from typing import Any

import numpy as np
import pytest

from analytics.causes.facts import CheckFacts
from analytics.errors import BadQuestion

SOUND: dict[str, Any] = {
    "codes": ("look", "meter"),
    "causes": ("valve", "filter", "tube"),
    "minutes": [2, 4],
    "beside_minutes": [0, 0],
    "setups": ((), ("pulled_out",)),
    "setup_minutes": {"pulled_out": 8.0},
    "reveals": [[0.5, 0, 0], [0, 0.9, 1]],
    "false_findings": [0, 0.1],
    "second_visit_minutes": 60,
}


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("minutes", [2], r"minutes has the shape \(1,\); it should be \(2,\)"),
        ("minutes", [2, -1], "minutes holds -1; it should be 0 or more"),
        ("minutes", [2, np.inf], "minutes holds inf"),
        ("beside_minutes", [0, np.nan], "beside_minutes holds nan"),
        ("reveals", [[0.5, 0, 0]], r"reveals has the shape \(1, 3\); it should be \(2, 3\)"),
        ("reveals", [[0.5, 0, 0], [0, 1.2, 0]], "reveals holds 1.2; it should be from 0 to 1"),
        ("false_findings", [0, 1.5], "false_findings holds 1.5"),
        ("setups", ((),), "1 lists of set-ups for 2 checks"),
        ("setups", ((), ("unheard_of",)), "setup_minutes lacks unheard_of"),
        ("setup_minutes", {"pulled_out": -8.0}, "setup_minutes holds -8"),
        ("second_visit_minutes", -1, "second_visit_minutes holds -1"),
        ("codes", ("look", "look"), "codes holds one of"),
        ("causes", ("a", "b", "a"), "causes holds one of"),
    ],
)
def test_what_does_not_fit_is_said(name: str, value: object, said: str) -> None:
    with pytest.raises(BadQuestion, match=said):
        CheckFacts(**(SOUND | {name: value}))


def test_lists_become_arrays() -> None:
    facts = CheckFacts(**SOUND)
    assert facts.reveals.shape == (2, 3)
    assert facts.places(["meter", "look"]) == [1, 0]
    with pytest.raises(BadQuestion, match="No check is called 'guess'; there are look, meter"):
        facts.places(["guess"])


def test_no_checks_and_no_set_ups_are_facts_too() -> None:
    nothing = {name: [] for name in ("minutes", "beside_minutes", "false_findings")}
    facts = CheckFacts(**(SOUND | nothing | {"codes": (), "setups": (), "reveals": np.zeros((0, 3))}))
    assert facts.codes == ()


@pytest.mark.parametrize(
    ("chances", "said"),
    [([0, 0, 0], "all 0"), ([1, 0], "shape"), ([1, -1, 1], "posterior holds -1"), ([1, np.nan, 0], "nan")],
)
def test_chances_that_do_not_fit_are_said(chances: list[float], said: str) -> None:
    with pytest.raises(BadQuestion, match=said):
        CheckFacts(**SOUND).chances(chances)


def test_chances_are_brought_to_a_sum_of_one() -> None:
    assert CheckFacts(**SOUND).chances([1, 1, 2]).tolist() == [0.25, 0.25, 0.5]
