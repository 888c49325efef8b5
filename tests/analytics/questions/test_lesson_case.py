"""One case told from records by hand: what is in it, and that no name is."""

import json

import pytest

from analytics.errors import BadQuestion
from analytics.questions.lesson_cases import LessonCases
from tests.analytics.small_fleet import SmallFleet

PHONE = "no_ice+ring 555-0142"


def told() -> LessonCases:
    """A frozen tube thought to be the module first, and eight right ones; the fill tube tells."""
    fleet = SmallFleet()
    told_us = {"mould_state": "empty", "fill_tube_ice": "yes", "switch_on": "yes", "supply_type": "town"}
    for number in range(8):
        fleet.call(
            f"C{number}",
            f"U{number}",
            root_cause="tube_frozen",
            technician_id=f"NAME{number}",
            **told_us,
        )
        fleet.visit(f"V{number}", f"C{number}", technician_id=f"NAME{number}")
        fleet.check("tube_look", "fault", visit_id=f"V{number}", sequence=1)
        fleet.part("inlet_valve", visit_id=f"V{number}")
    fleet.call("M1", "UM", root_cause="module_failed", technician_id="NAME9", complaint=PHONE, **told_us)
    fleet.visit("W1", "M1", technician_id="NAME9", helper_id="NAMEHELPER")
    fleet.check("seep_test", "no_fault", visit_id="W1", sequence=1, reading=0.0, reading_text="0 drops")
    fleet.part("module", visit_id="W1")
    fleet.call("M2", "UM", opened="2026-03-11 09:00", root_cause="tube_frozen", technician_id="NAME8")
    fleet.visit("W2", "M2", arrived="2026-03-11 10:00", technician_id="NAME8")
    fleet.check("tube_look", "fault", visit_id="W2", sequence=1, reading_text="ask Mr Brandt")
    for number in range(12):
        fleet.call(
            f"O{number}", f"X{number}", root_cause="module_failed", mould_state="full", switch_on="yes",
            supply_type="town", technician_id="NAME7",
        )  # fmt: skip
        fleet.part("module", call_id=f"O{number}")  # alone, and it held: confirmed
    fleet.ends("2026-06-30 17:00")
    return fleet.build().fleet.lesson_cases("tube_frozen")


@pytest.fixture(scope="module")
def cases() -> LessonCases:
    return told()


def test_a_missed_case_is_told_call_by_call(cases: LessonCases) -> None:
    (missed,) = [each for each in cases.cases if each.kind == "missed"]
    assert (missed.episode_id, missed.days, missed.held) == ("M1", 11, True)
    assert (missed.thought, missed.cause) == ("module failed", "fill tube frozen")
    first, second = missed.trips
    assert [(step.kind, step.day) for step in first.steps] == [
        ("visit", 1), ("check", 1), ("part", 1), ("closed", 1),
    ]  # fmt: skip
    assert (first.steps[1].what, first.steps[1].detail) == ("seep test", "0 drops, no fault")
    assert (second.day, second.steps[1].what) == (11, "look at the tube")
    assert missed.sign is not None
    assert (missed.sign["label"], missed.sign["words"]) == ("What is in the mould", "mould empty")
    assert missed.shown is not None
    assert missed.shown.check == "look at the tube"


def test_no_step_before_the_end_says_the_cause(cases: LessonCases) -> None:
    (missed,) = [each for each in cases.cases if each.kind == "missed"]
    words = " ".join(f"{step.what} {step.detail}" for trip in missed.trips for step in trip.steps)
    assert missed.cause not in words
    assert missed.thought not in words


def check_nameless(found: LessonCases) -> None:
    text = json.dumps(found.to_dict())
    assert "NAME" not in text
    assert "555-0142" not in text
    assert "Brandt" not in text


def test_no_technician_customer_or_number_is_in_it(cases: LessonCases) -> None:
    check_nameless(cases)


def test_without_masking_it_is_caught(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("analytics.questions.lesson_case.mask", lambda text: text)
    with pytest.raises(AssertionError):
        check_nameless(told())


def test_typical_cases_are_one_call_and_a_cause_must_be_one(cases: LessonCases) -> None:
    typical = [each for each in cases.cases if each.kind == "typical"]
    assert len(typical) == 3
    assert all(len(each.trips) == 1 for each in typical)
    with pytest.raises(BadQuestion, match="No lesson can be about"):
        SmallFleet().build().fleet.lesson_cases("no_fault_found")
