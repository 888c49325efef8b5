"""Valves with and without evidence, how far a repair was proved, and the calls behind such numbers."""

from collections.abc import Callable

import pytest

from analytics.catalogue import load_catalogue
from analytics.errors import BadQuestion
from analytics.filters import Filters
from analytics.questions import check_ground
from analytics.questions.check_subsets import CHECK_SUBSETS
from analytics.questions.subsets import OF_A_CHECK, SUBSETS
from analytics.valve_evidence import valve_evidence
from tests.analytics.kept_fleets import kept
from tests.analytics.small_fleet import SmallFleet
from tests.analytics.test_fleet_checks import example, patched, repair, replaced


@kept
def fitted() -> SmallFleet:
    """Valves on A to F: evidence on B and E; A and E came back; F is too young. G had a filter, H none."""
    fleet = SmallFleet()
    made = {
        "A": (), "B": (("valve_coil_ohms", "no_fault", 4.0),), "C": (("tube_look", "fault", 3.0),),
        "D": (), "E": (("dispenser_catch", "fault", 3.0),), "F": (), "H": (("tube_look", "fault", 3.0),),
    }  # fmt: skip
    for name, checks in made.items():
        repair(fleet, name, f"U{name}", "2026-05-20" if name == "F" else "2026-01-01", None, checks)
        if name != "H":
            fleet.part("inlet_valve", visit_id=f"V{name}")
    repair(fleet, "G", "UG", "2026-01-01")
    fleet.part("water_filter", visit_id="VG")
    for name in "AE":
        fleet.call(f"{name}2", f"U{name}", opened="2026-01-05 09:00", outcome="cancelled")
    fleet.part("inlet_valve", call_id="A2")
    fleet.ends("2026-06-01")
    return fleet.build()


def check_valves() -> None:
    fleet = fitted().fleet
    found = fleet.checks(Filters()).valves
    assert (found.without_evidence.numerator, found.without_evidence.denominator) == (4, 6), "A, C, D, F"
    bare, evident = found.came_back_without, found.came_back_with
    assert (bare.numerator, bare.denominator, bare.inside_window) == (1, 3, 1)
    assert (evident.numerator, evident.denominator) == (1, 2)
    assert found.difference == pytest.approx(1 / 3 - 1 / 2)
    assert fleet.calls(Filters(), "valve_fitted")[1] == 6
    assert listed(fleet, "valve_without_evidence") == "A C D F"


def listed(fleet: object, subset: str, check: str = "") -> str:
    rows, total = fleet.calls(Filters(), subset, sort="call_id", descending=False, check=check)  # type: ignore[attr-defined]
    assert total == rows.height
    return " ".join(rows["call_id"])


def test_valves_with_and_without_evidence() -> None:
    check_valves()


@kept
def proved() -> SmallFleet:
    """A to D proved (B came back, D is too young), E to G checked (E's proof failed), H to J unchecked."""
    fleet = SmallFleet()
    fine, bad = ("proof_of_repair", "no_fault", 6.0), ("proof_of_repair", "fault", 6.0)
    made = {
        "A": (fine,), "B": (fine, ("seep_test", "fault", 4.0)), "C": (fine,), "D": (fine,),
        "E": (bad,), "F": (("seep_test", "no_fault", 4.0),), "G": (("? shook it", "fault", 1.0),),
        "H": (), "I": (), "J": (),
    }  # fmt: skip
    for name, checks in made.items():
        repair(fleet, name, f"U{name}", "2026-05-20" if name == "D" else "2026-01-01", None, checks)
    for name in "BF":
        fleet.call(f"{name}2", f"U{name}", opened="2026-01-05 09:00", outcome="cancelled")
    for name, answer in {"A": "works", "C": "no", "D": "works", "H": "works", "I": "not_reached"}.items():
        fleet.follow_up(name, "2026-05-25" if name == "D" else "2026-02-20", answer)
    fleet.ends("2026-06-01")
    return fleet.build()


def check_proof() -> None:
    fleet = proved().fleet
    found = {each.code: each for each in fleet.checks(Filters()).proof}
    rates = {
        code: (each.calls, each.callback_rate.numerator, each.callback_rate.denominator)
        for code, each in found.items()
    }
    assert rates == {"proved": (4, 1, 3), "checked": (3, 1, 3), "unchecked": (3, 0, 3)}
    works = {code: (each.works.numerator, each.works.denominator) for code, each in found.items()}
    assert works == {"proved": (2, 3), "checked": (0, 0), "unchecked": (1, 1)}
    assert found["proved"].callback_rate.inside_window == 1
    assert listed(fleet, "proved_came_back") == "B"
    assert listed(fleet, "checked") == "E F G"
    assert listed(fleet, "unchecked_works") == "H"


def test_returns_by_how_far_the_repair_was_proved() -> None:
    check_proof()


MADE, CHOSEN = "metrics/checks_made", "metrics/checks_chosen"
WRONG_VALVES = {
    "every part is a valve": replaced(
        "metrics/checked_calls", "valve_sets.part_set is not null", "calls.part_set <> 0"
    ),
    "any check is evidence": replaced(MADE, "checks.check_code,", "'valve_coil_ohms' as check_code,"),
    "calls without work done count": replaced(CHOSEN, "if(completed, 2, 0)", "2"),
    "young calls are judged": replaced(CHOSEN, "if(judged, 4, 0)", "if(completed, 4, 0)"),
}
WRONG_PROOFS = {
    "a proof that failed proves": replaced(MADE, "checks.finding <> 'fault'", "true"),
    "any check proves": replaced(
        MADE,
        "list_contains($proof_checks::varchar[], checks.check_code)",
        "list_contains($proof_checks::varchar[] || [checks.check_code], checks.check_code)",
    ),
    "whom nobody reached told": replaced(CHOSEN, "else 0 end", "else 64 end"),
    "levels are mixed up": patched(check_ground, "CHECKED", 0),
}


@pytest.mark.parametrize("name", WRONG_VALVES)
def test_wrong_valves_are_caught(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    caught(WRONG_VALVES[name], check_valves, monkeypatch)


@pytest.mark.parametrize("name", WRONG_PROOFS)
def test_wrong_proofs_are_caught(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    caught(WRONG_PROOFS[name], check_proof, monkeypatch)


def caught(
    wrong: Callable[[pytest.MonkeyPatch], None], check: Callable[[], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    wrong(monkeypatch)
    with pytest.raises(AssertionError):
        check()


SUBSETS_OF_THE_EXAMPLE = {
    ("check_made", ""): "A A2 B C D F K L",
    ("check_made", "tube_look"): "A B L",
    ("check_found", ""): "A2 B",
    ("check_found", "tube_look"): "",
    ("check_ruled_out", ""): "B C",
    ("check_ruled_out", "seep_test"): "C",
    ("check_missed", ""): "D",
    ("check_not_recorded", ""): "A",
    ("check_not_recorded", "tube_look"): "",
    ("check_back", ""): "A K",
    ("check_left_out", ""): "L",
    ("checks_settled", ""): "A A2 B C D F K L",
    ("checks_too_soon", ""): "E",
    ("check_made", "no_such_check"): "",
}


@pytest.mark.parametrize(("subset", "check"), SUBSETS_OF_THE_EXAMPLE)
def test_numbers_open_the_calls_behind_them(subset: str, check: str) -> None:
    assert listed(example().fleet, subset, check) == SUBSETS_OF_THE_EXAMPLE[subset, check]


def test_lists_of_checks_are_paged_and_narrowed_like_others() -> None:
    fleet = example().fleet
    pages = [fleet.calls(Filters(), "check_made", at, 3, "call_id", False)[0] for at in (0, 3, 6)]
    assert " ".join(call for page in pages for call in page["call_id"]) == "A A2 B C D F K L"
    assert fleet.calls(Filters(causes=("module_failed",)), "check_made")[1] == 1
    with pytest.raises(BadQuestion):
        fleet.calls(Filters(), "check_lost")


def test_every_subset_about_checks_has_its_words() -> None:
    assert SUBSETS.keys() >= CHECK_SUBSETS
    assert set(OF_A_CHECK) <= CHECK_SUBSETS


def test_evidence_and_valves_are_in_the_catalogue() -> None:
    catalogue, evidence = load_catalogue(), valve_evidence()
    assert set(evidence.checks) <= set(catalogue.frames()["checks"]["code"])
    assert set(evidence.parts) <= set(catalogue.frames()["parts"]["code"])
