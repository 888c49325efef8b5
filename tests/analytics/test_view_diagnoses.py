"""What was thought first against what it turned out to be, by hand."""

import pytest

from tests.analytics.test_marts_episodes import string

STANDINGS = "select first_thought, final_cause, standing from marts.diagnoses"


@pytest.mark.parametrize(
    ("causes", "standing"),
    [
        (["tube_frozen"], "right"),
        (["tube_frozen", "tube_frozen"], "right"),
        (["tube_frozen", "module_failed"], "different"),
        (["tube_frozen", "valve_seeping"], "went_deeper"),
        (["valve_seeping", "tube_frozen"], "different"),  # deeper one way only
        (["no_fault_found", "valve_seeping"], "none_found"),
        (["tube_frozen", "no_fault_found"], None),  # it never became known
        ([None, "tube_frozen"], None),
        (["? eh", "tube_frozen"], None),
    ],
)
def test_standing(causes: list[str | None], standing: str | None) -> None:
    (row,) = string(*causes).build().table(STANDINGS).to_dicts()
    assert row["standing"] == standing


def test_a_first_diagnosis_comes_before_the_cause_of_the_call() -> None:
    fleet = string()
    fleet.call("C1", first_diagnosis="module_failed", root_cause="tube_frozen")
    (row,) = fleet.build().table(STANDINGS).to_dicts()
    assert row == {"first_thought": "module_failed", "final_cause": "tube_frozen", "standing": "different"}
