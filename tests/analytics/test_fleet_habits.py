"""Habits by hand: where a step applies, what counts as recorded, how the calls fared; wrong rules, caught."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from analytics import fleet_wrong_turns
from analytics.errors import BadQuestion
from analytics.filters import Filters
from analytics.habits import Habit
from analytics.questions import check_ground, checks
from analytics.questions.habits import Habits
from tests.analytics.small_fleet import SmallFleet
from tests.analytics.test_fleet_checks import patched, repair, replaced

WORDS: dict[str, Any] = {"before": "before", "why": "why", "standing": "CP"}
SMALL = (
    Habit(code="mould", label="mould", families=("ice_making",), checks=("tube_look",), answer="mould_state",
          but=("never_looked",), **WORDS),
    Habit(code="valve", label="valve", causes=("valve_seeping",), parts=("inlet_valve",),
          checks=("seep_test",), **WORDS),
)  # fmt: skip


@pytest.fixture(autouse=True)
def small_habits(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fleet_wrong_turns, "known_habits", lambda: SMALL)


def example() -> SmallFleet:
    """The example of docs/metrics.md; T2 records checks on one visit of three."""
    fleet = SmallFleet()
    look, seep = (("tube_look", "no_fault", None),), (("seep_test", "fault", None),)
    repair(fleet, "A", "U1", "2026-01-01", "module_failed", (("seep_test", "no_fault", None),))
    repair(fleet, "A2", "U1", "2026-01-11", "tube_frozen", look)
    repair(fleet, "B", "U2", "2026-01-01", "valve_seeping", look, mould_state="never_looked")
    repair(fleet, "C", "U3", "2026-01-01", "valve_seeping", seep, mould_state="? full of slush")
    repair(fleet, "D", "U4", "2026-01-01", "module_failed", mould_state="never_looked")
    fleet.visit("VD2", "D", arrived="2026-01-02 10:00")
    fleet.check("tube_look", visit_id="VD2")
    fleet.part("inlet_valve", visit_id="VD2")
    repair(fleet, "E", "U5", "2026-01-01", "module_failed")
    fleet.check("tube_look", call_id="E")
    fleet.part("inlet_valve", visit_id="VE")
    repair(fleet, "F", "U6", "2026-01-01", "module_failed", seep, complaint="leak_floor")
    fleet.call("G", "U7", opened="2026-01-01 09:00", root_cause="valve_seeping")
    repair(fleet, "H", "U8", "2026-05-20", "valve_seeping", look)
    for n in range(3):
        repair(fleet, f"L{n}", f"V{n}", "2026-01-01", "valve_seeping", look if not n else (), "T2")
    fleet.ends("2026-06-01")
    return fleet.build()


def check_example() -> None:
    found = example().fleet.habits(Filters())
    # A to F and the three of T2; G had no visit, H is too young
    assert (found.calls, found.calls_left_out, found.technicians_left_out) == (9, 3, 1)
    rows = {row["habit"]: row for row in found.habits.to_dicts()}
    mould, valve = rows["mould"], rows["valve"]
    # A to E are about ice: on A nothing, on D the look came later, B and E have one, C an answer
    assert (mould["not_recorded"], mould["calls"], mould["left_out"]) == (2, 5, 3)
    # B and C were thought a valve, E had one fitted; that of D came with the second visit. C alone was tested
    assert (valve["not_recorded"], valve["calls"], valve["left_out"]) == (2, 3, 3)
    assert (mould["technicians"], mould["median"]) == (0, None), "nobody has 20 such calls"
    came_back = found.outcome("mould", "came_back")
    assert (came_back["without_sum"], came_back["without_calls"], came_back["with_sum"]) == (1, 2, 0)
    minutes = found.outcome("mould", "minutes")
    assert (minutes["without_sum"], minutes["with_sum"]) == (30, 0), "A2, 9:30 to 10:00"
    different = found.outcome("mould", "different")
    assert (different["without_sum"], different["without_calls"], different["with_calls"]) == (1, 2, 3)
    assert different["low"] is None, "one technician is too few for an interval"
    assert different["difference"] == pytest.approx(0.5), "all are alike: 1 of 2 less 0 of 3"


def test_example_of_the_documentation() -> None:
    check_example()


FIRST = "metrics/on_first_visit"
WRONG: dict[str, Callable[[pytest.MonkeyPatch], None]] = {
    "checks of later visits count": replaced(
        FIRST, "visits.arrived_at < second_visits.arrived_at)", "visits.arrived_at is not null)"
    ),
    "what is recorded for the call alone is lost": replaced(
        FIRST,
        "second_visits.arrived_at is null or visits.arrived_at is null",
        "second_visits.arrived_at is null and visits.arrived_at is not null",
    ),
    "young strings of returns count": patched(
        checks, "settled", lambda on, cutoffs: ~np.isnat(on.last_closed)
    ),
    "an answer that was not known is one": replaced(
        "metrics/answers_recorded", "list_contains($but::varchar[], coded.level)", "len($but::varchar[]) < 0"
    ),
    "an answer in strange words is none": replaced(
        "metrics/answers_recorded", "where coded.answered", "where coded.level is not null"
    ),
    "technicians who seldom record are kept": patched(check_ground, "FEWEST_VISITS_CHECKED", 0.0),
    "nobody went, and all the same": replaced(
        "metrics/first_thoughts", "calls.visits > 0 or not", "true or not"
    ),
    "minutes of the first call count": replaced(
        "metrics/first_thoughts", "filter (of_return and", "filter ("
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", WRONG)
def test_a_wrong_definition_is_caught(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    WRONG[name](monkeypatch)
    with pytest.raises(AssertionError):
        check_everything()


def check_second_visits() -> None:
    """A second visit of the same call is no return."""
    fleet = SmallFleet()
    repair(fleet, "A", "U1", "2026-01-01", "module_failed", (("seep_test", "fault", None),))
    fleet.visit("VA2", "A", arrived="2026-01-02 10:00", left="2026-01-02 10:40", technician_id="T1")
    fleet.check("seep_test", visit_id="VA2")
    fleet.ends("2026-06-01")
    minutes = fleet.build().fleet.habits(Filters()).outcome("mould", "minutes")
    assert (minutes["without_sum"], minutes["without_calls"]) == (0, 1)


def check_everything() -> None:
    check_example()
    check_second_visits()


def test_second_visits() -> None:
    check_second_visits()


def test_the_calls_behind_a_number() -> None:
    fleet = example().fleet

    def ids(subset: str, only: str = "") -> list[str]:
        rows, total = fleet.calls(Filters(), subset, sort="call_id", descending=False, only=only)
        assert total == rows.height
        return rows["call_id"].to_list()

    assert ids("habit_calls", "mould") == ["A", "B", "C", "D", "E"]
    assert ids("habit_missing", "mould") == ["A", "D"]
    assert ids("habit_recorded", "mould") == ["B", "C", "E"]
    assert ids("habit_missing_came_back", "mould") == ids("habit_missing_different", "mould") == ["A"]
    assert ids("habit_recorded_came_back", "mould") == []
    assert ids("habit_left_out", "valve") == ["L0", "L1", "L2"]
    assert ids("habit_missing") == ["A", "B", "D", "E"], "of any habit"
    with pytest.raises(BadQuestion, match="There is no habit 'x'"):
        ids("habit_missing", "x")


def planted(missing_is_bad: bool) -> Habits:
    """Eight technicians with 30 calls: every other lacks the look; where bad, half of those come back."""
    fleet = SmallFleet()
    for who in range(8):
        for n in range(30):
            name, unit, missing = f"{who}-{n}", f"U{who}-{n}", n % 2 == 0
            made = (("seep_test", "no_fault", None),) if missing else (("tube_look", "no_fault", None),)
            repair(fleet, name, unit, "2026-01-01", "module_failed", made, f"T{who}")
            bad = n % 4 == 0 if missing_is_bad else n % 10 in (0, 1)
            if bad and n + who:
                repair(fleet, f"R{name}", unit, "2026-01-09", "tube_frozen", made, f"T{who}")
    fleet.ends("2026-06-01")
    return fleet.build().fleet.habits(Filters())


def test_a_planted_difference_is_told_and_none_where_there_is_none() -> None:
    bad, even = planted(True), planted(False)
    for outcome in ("different", "came_back", "minutes"):
        row = bad.outcome("mould", outcome)
        assert row["differs"], outcome
        assert row["low"] > 0
        assert row["p_adjusted"] >= row["p"]
        assert not even.outcome("mould", outcome)["differs"], outcome
    row = bad.habits.filter(habit="mould").row(0, named=True)
    assert (row["technicians"], row["median"], row["more_than_half"]) == (8, 0.5, 0)
