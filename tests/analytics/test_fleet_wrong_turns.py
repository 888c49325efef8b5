"""Wrong turns by hand: what was thought first, what it was, what followed; and wrong rules, caught."""

from collections.abc import Callable
from datetime import date

import numpy as np
import pytest

from analytics.cost_assumptions import CostAssumptions
from analytics.errors import BadQuestion
from analytics.filters import Filters
from analytics.questions import checks
from tests.analytics.small_fleet import SmallFleet
from tests.analytics.test_fleet_checks import patched, repair, replaced


def example() -> SmallFleet:
    """The example of docs/metrics.md: A came back as A2, B as B2, C as C2; G is too young."""
    fleet = SmallFleet()
    repair(fleet, "A", "U1", "2026-01-01", "module_failed")
    fleet.part("module", visit_id="VA", cost=50.0)
    fleet.part("? bolt", visit_id="VA")
    repair(fleet, "A2", "U1", "2026-01-11", "tube_frozen")
    fleet.part("inlet_valve", visit_id="VA2", cost=70.0)
    repair(fleet, "B", "U2", "2026-01-01", "tube_frozen")
    fleet.part("inlet_valve", visit_id="VB", cost=60.0)
    repair(fleet, "B2", "U2", "2026-01-11", "valve_seeping")
    repair(fleet, "C", "U3", "2026-01-01", "no_fault_found")
    repair(fleet, "C2", "U3", "2026-01-11", "filter_restricted")
    repair(fleet, "D", "U4", "2026-01-01", "valve_seeping")
    fleet.visit("VD0", "D", arrived="2026-01-01 07:00", left="2026-01-01 07:05", result="no_access")
    repair(fleet, "E", "U5", "2026-01-01", "tube_frozen", first_diagnosis="module_failed")
    fleet.visit("VE2", "E", arrived="2026-01-02 10:00", left="2026-01-02 10:40")
    repair(fleet, "F", "U6", "2026-01-01", "no_fault_found")
    repair(fleet, "G", "U7", "2026-05-20", "tube_frozen", first_diagnosis="module_failed")
    repair(fleet, "H", "U8", "2026-01-01", "module_failed", first_diagnosis="module_failed")
    fleet.ends("2026-06-01")
    return fleet.build()


def check_example() -> None:
    found = example().fleet.wrong_turns(Filters())
    assert (found.calls, found.too_soon, found.known) == (7, 1, 6), "A to F and H; of F it never became known"
    counts = [rate.numerator for rate in (found.right, found.went_deeper, found.different, found.none_found)]
    assert counts == [2, 1, 2, 1]
    assert {rate.denominator for rate in (found.right, found.different)} == {6}
    assert (found.unsaid, found.none_found_unknown, found.parts_unknown) == (1, 1, 1), "D, F, a bolt"
    (turn,) = found.turns().to_dicts()
    assert (turn["first_thought"], turn["final_cause"]) == ("module_failed", "tube_frozen")
    assert (turn["calls"], turn["of"]) == (2, 3), "A and E of A, E and H"
    # A2 (10:00 less 9:30) and the second visit of E, of 40 minutes; the module was not the cause
    assert (turn["returns"], turn["visits"], turn["minutes"], turn["parts"]) == (1, 2, 70, 1)
    # office work 10, travel 40 twice, 70 minutes at 60 an hour, the module 50
    assert turn["money"] == pytest.approx(10 + 80 + 70 + 50)
    assert turn["money_low"] is None, "two units are too few for an interval"
    (deeper,) = found.turns("went_deeper").to_dicts()
    assert (deeper["first_thought"], deeper["final_cause"], deeper["parts"]) == (
        "tube_frozen",
        "valve_seeping",
        0,
    )
    assert deeper["money"] == pytest.approx(10 + 40 + 30)
    (none,) = found.turns("none_found").to_dicts()
    assert (none["final_cause"], none["of"]) == ("filter_restricted", 1)
    assert (found.after("different"), found.after("right")) == (1, 0), "nobody home is no further visit"
    assert found.parts.to_dicts() == [
        {"part": "module", "label": "module", "calls": 1, "parts": 1, "money": 50}
    ]
    # A, B, D, E, H name a cause: 2 of 5 agree, by chance (3 x 1 + 1 x 2 + 1 x 2) / 25
    assert found.kappa is not None
    assert (found.kappa.things, found.kappa.kappa) == (5, pytest.approx((0.4 - 0.28) / 0.72))
    rows = {row["first_thought"]: row for row in found.firsts.to_dicts()}
    assert (rows["module_failed"]["calls"], rows["module_failed"]["different"]) == (3, 2)
    assert rows["module_failed"]["different_rate"] == pytest.approx(2 / 3)
    assert (rows["no_fault_found"]["calls"], rows["no_fault_found"]["unknown"]) == (1, 1)
    assert rows["tube_frozen"]["went_deeper"] == 1


def test_example_of_the_documentation() -> None:
    check_example()


THOUGHTS, PARTS = "metrics/first_thoughts", "metrics/parts_not_the_cause"
WRONG: dict[str, Callable[[pytest.MonkeyPatch], None]] = {
    "young strings of returns count": patched(
        checks, "settled", lambda on, cutoffs: ~np.isnat(on.last_closed)
    ),
    "going deeper is something else": replaced(
        THOUGHTS, " diagnoses.standing,", " replace(diagnoses.standing, 'went_deeper', 'different') standing,"
    ),
    "nobody home is a further visit": replaced(THOUGHTS, "where visits.let_in", ""),
    "the first visit is a further one": replaced(THOUGHTS, "where place_in_string > 1", ""),
    "the further visits of the first call are lost": replaced(
        THOUGHTS, "(episode_id is not null or visits > 1)", "episode_id is not null"
    ),
    "parts that answer the cause count": replaced(
        PARTS, "part_answers.cause = earlier.final_cause", "part_answers.cause = ''"
    ),
    "parts of the last call count": replaced(
        PARTS, "(calls.opened_at, calls.call_id) < (last_calls.opened_at, last_calls.call_id)", "true"
    ),
    "a call thought right with nothing recorded can be wrong": replaced(
        THOUGHTS, "calls.first_diagnosis is not null", "true"
    ),
    "no fault found names a cause": replaced(THOUGHTS, "coalesce(thoughts.can_be_final, true)", "true"),
}  # fmt: skip


@pytest.mark.parametrize("name", WRONG)
def test_a_wrong_definition_is_caught(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    WRONG[name](monkeypatch)
    with pytest.raises(AssertionError):
        check_example()


def test_prices_are_those_assumed() -> None:
    own = CostAssumptions.usual().but({"hour_price": 120}, "here")
    (turn,) = example().fleet.wrong_turns(Filters(), own).turns().to_dicts()
    assert turn["money"] == pytest.approx(10 + 2 * 70 + 140 + 50)


def test_a_part_without_a_cost_takes_the_one_assumed() -> None:
    fleet = SmallFleet()
    repair(fleet, "A", "U1", "2026-01-01", "module_failed")
    fleet.part("module", visit_id="VA", quantity=2.0)
    repair(fleet, "A2", "U1", "2026-01-11", "tube_frozen")
    fleet.ends("2026-06-01")
    found = fleet.build().fleet.wrong_turns(Filters())
    assert found.parts.to_dicts()[0] | {"label": ""} == {
        "part": "module", "label": "", "calls": 1, "parts": 2, "money": 80,
    }  # fmt: skip
    assert found.turns()["money"].item() == pytest.approx(10 + 40 + 30 + 80)


def test_filters_choose_by_the_first_call() -> None:
    fleet = example().fleet
    assert fleet.wrong_turns(Filters(closed_to=date(2026, 1, 1))).known == 6
    later = fleet.wrong_turns(Filters(closed_from=date(2026, 1, 5)))
    assert (later.calls, later.known, later.too_soon) == (0, 0, 1), "returns are no first calls"
    assert later.kappa is None
    assert later.matrix.is_empty()
    assert later.to_dict()["parts"] == []


def test_the_calls_behind_a_number() -> None:
    fleet = example().fleet

    def ids(subset: str, only: str = "") -> list[str]:
        rows, total = fleet.calls(Filters(), subset, sort="call_id", descending=False, only=only)
        assert total == rows.height
        return rows["call_id"].to_list()

    assert ids("thought_known") == ["A", "B", "C", "D", "E", "H"]
    assert ids("thought_different") == ["A", "E"]
    assert ids("thought_different", "module_failed:tube_frozen") == ["A", "E"]
    assert ids("thought_different", ":valve_seeping") == []
    assert ids("thought_known", "module_failed:") == ["A", "E", "H"]
    assert ids("thought_deeper") == ["B"]
    assert ids("thought_none_found", "no_fault_found:") == ["C"]
    assert ids("thought_unknown") == ["F"]
    assert ids("thought_too_soon") == ["G"]
    assert ids("part_not_cause", "module") == ids("part_not_cause") == ["A"]
    assert ids("part_not_cause", "inlet_valve") == []
    with pytest.raises(BadQuestion, match="is no wrong turn"):
        ids("thought_known", "module_failed")


def test_five_units_get_an_interval_of_what_the_turn_cost() -> None:
    fleet = SmallFleet()
    for n in range(6):
        repair(fleet, f"A{n}", f"U{n}", "2026-01-01", "module_failed")
        repair(fleet, f"B{n}", f"U{n}", "2026-01-11", "tube_frozen")
        for extra in range(n):
            fleet.visit(
                f"X{n}{extra}",
                f"B{n}",
                arrived=f"2026-01-1{extra + 2} 10:00",
                left=f"2026-01-1{extra + 2} 10:30",
            )
    fleet.ends("2026-06-01")
    turn = fleet.build().fleet.wrong_turns(Filters()).turns().row(0, named=True)
    assert turn["calls"] == 6
    assert turn["money"] == pytest.approx(6 * 80 + 15 * 70)
    assert 0 < turn["money_low"] < turn["money"] < turn["money_high"]
