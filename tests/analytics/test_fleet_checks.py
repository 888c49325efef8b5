"""Checks by hand: what they find, what was not recorded; each definition, and what a wrong one would say."""

from collections.abc import Callable
from datetime import date
from typing import Any

import numpy as np
import pytest

from analytics import queries
from analytics.errors import BadQuestion
from analytics.filters import Filters
from analytics.questions import check_ground, check_sums, check_unrecorded, checks
from tests.analytics.kept_fleets import kept
from tests.analytics.small_fleet import SmallFleet


def repair(
    fleet: SmallFleet,
    name: str,
    unit: str,
    opened: str,
    cause: str | None = None,
    made: tuple[tuple[str, str, float | None], ...] = (),
    technician: str = "T1",
    **columns: Any,
) -> None:
    """Add a repair of one day with a visit of 30 minutes, and the checks made on it."""
    fleet.call(name, unit, opened=f"{opened} 09:00", root_cause=cause, **columns)
    fleet.visit(f"V{name}", name, arrived=f"{opened} 09:30", left=f"{opened} 10:00", technician_id=technician)
    for check, finding, minutes in made:
        fleet.check(check, finding, visit_id=f"V{name}", minutes=minutes)


@kept
def example() -> SmallFleet:
    """The example of docs/metrics.md: A came back as A2, K as K2, L as L2; T2 checks on one visit of four."""
    fleet = SmallFleet()
    repair(fleet, "A", "U1", "2026-01-01", "tube_frozen", (("tube_look", "fault", 3),))
    repair(fleet, "A2", "U1", "2026-01-11", "valve_seeping", (("seep_test", "fault", 4),))
    repair(
        fleet, "B", "U2", "2026-01-01", "valve_seeping",
        (("seep_test", "fault", 6), ("tube_look", "no_fault", None)),
    )  # fmt: skip
    repair(fleet, "C", "U3", "2026-01-01", "module_failed", (("seep_test", "no_fault", None),))
    repair(fleet, "D", "U4", "2026-01-01", "valve_seeping", (("seep_test", "no_fault", 5),))
    repair(fleet, "E", "U5", "2026-05-20", "valve_seeping", (("seep_test", "fault", 5),))
    repair(fleet, "F", "U6", "2026-01-01", None, (("seep_test", "fault", 5),))
    repair(fleet, "K", "U8", "2026-01-01", "valve_seeping", (("seep_test", "fault", 4),))
    fleet.call("K2", "U8", opened="2026-01-15 09:00", outcome="cancelled")
    repair(fleet, "L", "U9", "2026-01-01", "tube_frozen", (("tube_look", "fault", 3),), "T2")
    repair(fleet, "L2", "U9", "2026-01-05", "valve_seeping", technician="T2")
    repair(fleet, "M", "U10", "2026-01-01", "module_failed", technician="T2")
    repair(fleet, "N", "U11", "2026-01-01", "module_failed", technician="T2")
    fleet.ends("2026-06-01")
    return fleet.build()


def check_example() -> None:
    found = example().fleet.checks(Filters())
    rows = {row["check"]: row for row in found.checks.to_dicts()}
    seep, look = rows["seep_test"], rows["tube_look"]
    # of A2, B, C, D, F, K; E is too young
    assert (seep["found"], seep["made"]) == (2, 6)
    assert (seep["ruled_out"], seep["cleared"], seep["missed"], seep["unknown"]) == (1, 2, 1, 2)
    # of A, B, L: on A and L it found a fault, but not what it turned out to be
    assert (look["found"], look["made"], look["elsewhere"], look["ruled_out"]) == (0, 3, 2, 1)
    # 4 + 6 + 5 + 5 + 4 minutes on five timed times, with two finds
    assert (seep["timed"], seep["found_timed"]) == (5, 2)
    assert seep["minutes"] == pytest.approx(24 / 5)
    assert seep["per_hour"] == pytest.approx(60 * 2 / 24)
    assert (seep["per_hour_low"], look["per_hour"]) == (None, 0), "two units with a find are too few"
    assert (found.calls, found.too_soon, found.made) == (8, 1, 9)
    # came back with a check and the cause known: A and K; on A nothing that shows a seeping valve
    missing = found.unrecorded
    assert (missing.rate.numerator, missing.rate.denominator) == (1, 2)
    assert missing.weighted == pytest.approx(0.9)
    assert (missing.returns, missing.minutes, missing.untimed, missing.same_cause) == (1, 30, 0, 0)
    (row,) = missing.checks.to_dicts()
    assert (row["check"], row["calls"], row["returns"], row["minutes"]) == ("seep_test", 1, 1, 30)
    assert row["weighted"] == pytest.approx(0.9)
    assert (missing.technicians_left_out, missing.calls_left_out) == (1, 1), "T2, and L of them"


def test_example_of_the_documentation() -> None:
    check_example()


def replaced(statement: str, right: str, wrong: str) -> Callable[[pytest.MonkeyPatch], None]:
    def break_it(monkeypatch: pytest.MonkeyPatch) -> None:
        original = queries.statement
        assert right in original(statement)
        monkeypatch.setattr(
            queries,
            "statement",
            lambda name: original(name).replace(right, wrong) if name == statement else original(name),
        )

    return break_it


def patched(place: Any, name: str, value: Any) -> Callable[[pytest.MonkeyPatch], None]:
    return lambda monkeypatch: monkeypatch.setattr(place, name, value)


MADE = "metrics/checks_made"
WRONG = {
    "young strings of returns count": patched(
        checks, "settled", lambda on, cutoffs: ~np.isnat(on.last_closed)
    ),
    "a find that was not the final cause counts": replaced(
        MADE, "if(reveals.cause is null, 'elsewhere', 'found')", "'found'"
    ),
    "what came back again counts": replaced(
        MADE, "if(episodes.held, episodes.final_cause, null)", "episodes.final_cause"
    ),
    "what it missed was ruled out": replaced(
        MADE, "if(reveals.cause is null, 'ruled_out', 'missed')", "'ruled_out'"
    ),
    "the cause of the call itself is the final one": replaced(MADE, "episodes.final_cause", "calls.cause"),
    "technicians who seldom record are kept": patched(check_ground, "FEWEST_VISITS_CHECKED", 0.0),
    "finds an hour are finds a minute": patched(check_sums, "MINUTES_AN_HOUR", 1),
    "two units are enough for an interval": patched(check_sums, "FEWEST_UNITS", 2),
    "returns within 7 days alone": patched(check_unrecorded, "THIRTY_DAYS", 1),
    "calls that did not come back lack a check": replaced(
        "metrics/checked_calls", "(calls.came_back_bits & 4) <> 0 as came_back", "true as came_back"
    ),
    "every check reveals for sure": replaced("metrics/reveals", "cause, share", "cause, 1.0 as share"),
    "visits without a check are not counted": replaced(
        "metrics/check_recorders", "count(*) as visits", "count_if(checked)::bigint as visits"
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", WRONG)
def test_a_wrong_definition_is_caught(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    WRONG[name](monkeypatch)
    with pytest.raises(AssertionError):
        check_example()


def test_looking_back_a_string_is_judged_when_its_days_are_up() -> None:
    fleet = example().fleet
    early = fleet.checks(Filters(as_of=date(2026, 2, 5)))
    # A2 closed on 11 January: on 5 February its 30 days are not up; those of 1 January are
    row = early.checks.filter(check="seep_test").to_dicts()[0]
    assert (row["found"], row["made"]) == (1, 5)
    assert early.too_soon == 2, "A and A2"
    assert early.unrecorded.rate.denominator == 1, "K alone"
    late = fleet.checks(Filters(as_of=date(2026, 2, 20)))
    assert late.unrecorded.rate.denominator == 2


def test_window_and_match_of_the_page_do_not_change_what_a_check_found() -> None:
    fleet = example().fleet
    assert fleet.checks(Filters(window_days=7, match="any")).checks.equals(fleet.checks(Filters()).checks)


def test_by_kind_of_complaint_and_by_symptom() -> None:
    fleet = SmallFleet()
    repair(fleet, "A", "U1", "2026-01-01", "valve_seeping", (("seep_test", "fault", 4),), complaint="no_ice")
    repair(
        fleet, "B", "U2", "2026-01-01", "module_failed", (("seep_test", "no_fault", 4),),
        complaint="little_ice+leak_floor",
    )  # fmt: skip
    repair(fleet, "C", "U3", "2026-01-01", "valve_seeping", (("seep_test", "fault", 4),), complaint="? eh")
    fleet.ends("2026-06-01")
    built = fleet.build().fleet
    by_family = built.checks(Filters(), by="family").groups
    assert by_family.select("group", "group_label", "found", "made").rows() == [
        ("ice_making", "ice making", 1, 2),
        ("leak", "leak", 0, 1),
        (None, "not recognised", 1, 1),
    ]
    by_symptom = built.checks(Filters(), by="symptom").groups
    assert {row["group"]: row["made"] for row in by_symptom.to_dicts()} == {
        "no_ice": 1, "little_ice": 1, "leak_floor": 1, None: 1,
    }  # fmt: skip
    one = built.checks(Filters(symptoms=("no_ice",)))
    assert one.checks.select("found", "made").row(0) == (1, 1)
    with pytest.raises(BadQuestion, match="family, symptom"):
        built.checks(Filters(), by="technician")


def test_helpers_checks_count_for_the_visit_and_nobody_home_for_nothing() -> None:
    """T1 is let in twice and checks once, by the helper's record: half; without that it would be none."""
    fleet = SmallFleet()
    repair(fleet, "A", "U1", "2026-01-01", "tube_frozen")
    fleet.visit("VA helper", "A", arrived="2026-01-01 09:40", technician_id="T9")
    fleet.check("tube_look", "fault", visit_id="VA helper")
    repair(fleet, "A2", "U1", "2026-01-11", "valve_seeping")
    fleet.visit("VB", "A2", arrived="2026-01-11 08:00", result="no_access", technician_id="T1")
    fleet.ends("2026-06-01")
    built = fleet.build().fleet
    assert built.checks(Filters()).unrecorded.rate.denominator == 1
    assert built.checks(Filters()).unrecorded.calls_left_out == 0


@pytest.mark.parametrize(
    "wrong",
    [
        replaced("metrics/check_recorders", "    where visits.let_in\n", ""),
        replaced("metrics/check_recorders", "where records > 1", "where false"),
    ],
)  # fmt: skip
def test_wrong_visits_are_caught(
    wrong: Callable[[pytest.MonkeyPatch], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    wrong(monkeypatch)
    with pytest.raises(AssertionError):
        test_helpers_checks_count_for_the_visit_and_nobody_home_for_nothing()


def test_without_visits_completed_repairs_stand_in_for_them() -> None:
    fleet = SmallFleet()
    fleet.call("A", "U1", opened="2026-01-01 09:00", root_cause="tube_frozen", technician_id="T1")
    fleet.check("tube_look", "fault", call_id="A")
    fleet.call("A2", "U1", opened="2026-01-11 09:00", root_cause="valve_seeping", technician_id="T1")
    for n in range(3):
        fleet.call(f"B{n}", f"B{n}", opened="2026-01-01 09:00", technician_id="T2")
    fleet.ends("2026-06-01")
    found = fleet.build().fleet.checks(Filters()).unrecorded
    assert (found.rate.numerator, found.rate.denominator, found.calls_left_out) == (1, 1, 0)


def test_cause_that_no_check_reveals_can_not_have_been_shown() -> None:
    fleet = SmallFleet()
    repair(fleet, "A", "U1", "2026-01-01", "tube_frozen", (("tube_look", "fault", 3),))
    repair(fleet, "A2", "U1", "2026-01-11", "module_failed", (("tube_look", "no_fault", 3),))
    fleet.ends("2026-06-01")
    assert fleet.build().fleet.checks(Filters()).unrecorded.rate.denominator == 0


def test_checks_not_recognised_are_counted_and_are_checks_recorded() -> None:
    fleet = SmallFleet()
    repair(fleet, "A", "U1", "2026-01-01", "valve_seeping", (("? shook it", "fault", 3),))
    fleet.ends("2026-06-01")
    found = fleet.build().fleet.checks(Filters())
    assert (found.calls, found.made, found.not_recognised) == (1, 0, 1)
    assert [each.calls for each in found.proof] == [0, 1, 0]


def test_other_jobs_and_open_calls_have_no_part_in_it() -> None:
    fleet = SmallFleet()
    repair(fleet, "A", "U1", "2026-01-01", None, (("seep_test", "fault", 3),), job_kind="maintenance")
    repair(fleet, "B", "U2", "2026-01-01", None, (("seep_test", "fault", 3),), closed=None)
    fleet.ends("2026-06-01")
    found = fleet.build().fleet.checks(Filters())
    assert (found.repairs, found.calls, found.made, found.unfinished) == (1, 0, 0, 1)


def test_minutes_that_no_check_takes_are_not_measured() -> None:
    fleet = SmallFleet()
    for at, minutes in enumerate((0.0, 4.0, 5000.0, None)):
        repair(fleet, f"A{at}", f"U{at}", "2026-01-01", "valve_seeping", (("seep_test", "fault", minutes),))
    fleet.ends("2026-06-01")
    (row,) = fleet.build().fleet.checks(Filters()).checks.to_dicts()
    assert (row["made"], row["timed"], row["minutes"]) == (4, 1, 4.0)


def test_without_anything_there_is_nothing() -> None:
    fleet = SmallFleet()
    fleet.ends("2026-06-01")
    found = fleet.build().fleet.checks(Filters(), by="symptom")
    assert (found.repairs, found.made, found.checks.height, found.groups.height) == (0, 0, 0, 0)
    assert found.to_dict()["unrecorded"]["checks"] == []
    assert found.valves.difference is None
