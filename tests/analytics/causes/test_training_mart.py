"""marts.intake and marts.training by hand. The calls are rung in on 1 March 2026, a Sunday."""

from collections.abc import Callable
from datetime import datetime
from typing import Any

import pytest

from analytics import queries
from analytics.causes.training import Training, training
from tests.analytics.causes.mutated_views import break_view
from tests.analytics.small_fleet import SmallFleet

DAY = "2026-03-01 09:00"
Spoil = Callable[[SmallFleet], None]


def known(*cases: dict[str, Any], spoil: Spoil | None = None) -> list[dict[str, Any]]:
    """Return what is known of calls when they are rung in, each of a unit of its own.

    Each case holds columns of the call, and under "unit" and "changes" what is recorded of the unit.
    """
    fleet = SmallFleet()
    for n, case in enumerate(cases):
        columns = {name: value for name, value in case.items() if name not in ("unit", "changes")}
        fleet.call(f"{n:02d}", f"U{n}", opened=DAY, **columns)
        for changed_on in case.get("changes", ()):
            fleet.filter_change(changed_on, f"U{n}")
        if "unit" in case:
            fleet.unit(f"U{n}", **case["unit"])
    fleet.build()
    if spoil:
        spoil(fleet)
    return fleet.table("from marts.intake order by call_id").to_dicts()


TOLD_AND_LISTED = [
    ("filter_kind", "filter_kind", "in_line", "in_unit"),
    ("shutoff_valve", "shutoff_valve", "saddle", "quarter_turn"),
    ("where_it_stands", "location", "garage", "kitchen"),
    ("supply_type", "water_supply", "well", "town_water"),
]


def check_told_and_listed(
    answer: str, column: str, told: str, listed: str, spoil: Spoil | None = None
) -> None:
    """What is told counts before what the list of units says; "don't know" does not hide it."""
    unit = {"unit": {column: listed}}
    cases = [
        {answer: told} | unit,
        {answer: "dont_know"} | unit,
        {answer: None} | unit,
        {answer: "? eh"} | unit,
    ]
    alone = [
        {answer: told},
        {answer: "dont_know"},
        {answer: None},
        {answer: "dont_know", "unit": {column: "? eh"}},
    ]
    found = [row[answer] for row in known(*cases, *alone, spoil=spoil)]
    assert found == [told, listed, listed, listed, told, "dont_know", None, "dont_know"]


@pytest.mark.parametrize(("answer", "column", "told", "listed"), TOLD_AND_LISTED)
def test_told_and_listed(answer: str, column: str, told: str, listed: str) -> None:
    check_told_and_listed(answer, column, told, listed)


@pytest.mark.parametrize(
    ("case", "passage", "other"),
    [
        (1, "nullif(shutoff_valve.code, 'dont_know')", "shutoff_valve.code"),
        (2, "unit_location.code, ", ""),
        (3, "nullif(calls.supply, 'dont_know')", "calls.supply"),
    ],
)
def test_a_list_that_is_hidden_is_caught(case: int, passage: str, other: str) -> None:
    with pytest.raises(AssertionError):
        check_told_and_listed(
            *TOLD_AND_LISTED[case], spoil=lambda fleet: break_view(fleet, "marts.intake", passage, other)
        )


GIVEN_AWAY = ("mould_state", "dispenser_flow", "fill_tube_ice", "switch_on", "what_changed")


def test_a_complaint_gives_an_answer_away_where_none_was_noted() -> None:
    says = [{"complaint": f"no_ice+implies {answer}=this"} for answer in GIVEN_AWAY]
    both = [case | {answer: "that"} for answer, case in zip(GIVEN_AWAY, says, strict=True)]
    rows = known(*says, *both, {"complaint": "no_ice"})
    for n, answer in enumerate(GIVEN_AWAY):
        assert {name: rows[n][name] for name in GIVEN_AWAY} == dict.fromkeys(GIVEN_AWAY) | {answer: "this"}
        assert rows[n]["symptoms"] == ["no_ice"]
        assert rows[n + len(GIVEN_AWAY)][answer] == "that"
    assert {rows[-1][name] for name in GIVEN_AWAY} == {None}


def test_how_long_it_has_lasted() -> None:
    expected = {
        None: (None, None),
        "today": ("today", 0),
        "days": ("days", 3),
        "weeks": ("weeks", 14),
        "months": ("months", 61),
        "10 days": ("days", 10),
        "2 weeks": ("weeks", 14),
        "3 months": ("months", 92),  # 3 * 30.4375 = 91.31, rounded up
        "comes_and_goes": ("comes_and_goes", None),
        "since_new": ("since_new", None),
        "? eh": (None, None),
    }
    rows = known(*({"problem_duration": told} for told in expected))
    assert [(row["problem_duration"], row["problem_duration_days"]) for row in rows] == [*expected.values()]


def test_filter_age() -> None:
    """On the day of the call, and 10 days before, when the trouble began."""
    expected = {
        "last autumn": ("season", 137, 127),  # since 15 October 2025
        "christmas": ("season", 66, 56),
        "last spring": ("season", 320, 310),  # 15 April of the year before: this year's is still to come
        "2026-02-25": ("date", 4, None),  # changed after the trouble began
        "14 days": ("time_ago", 14, 4),
        "dont_know": ("dont_know", None, None),
        None: (None, None, None),
    }
    rows = known(*({"filter_last_changed": told, "problem_duration": "10 days"} for told in expected))
    names = ("filter_last_changed", "filter_age_days", "filter_age_began_days")
    assert [tuple(row[name] for name in names) for row in rows] == [*expected.values()]


def test_where_there_is_no_filter_that_is_the_answer() -> None:
    told = {"changes": ("2025-12-01",), "filter_last_changed": "2 months"}
    rows = known(
        told | {"unit": {"filter_kind": "bypass_or_none"}},
        told | {"unit": {"water_supply": "reverse_osmosis"}},
        told | {"unit": {"filter_kind": "bypass_or_none"}, "filter_kind": "in_unit"},
    )
    found = [(row["filter_last_changed"], row["filter_age_days"]) for row in rows]
    assert found == [("no_filter", None), ("no_filter", None), ("time_ago", 61)]


def test_reading_of_the_freezer() -> None:
    rows = known({"freezer_temperature": "-14 celsius"}, {"freezer_temperature": "food_soft"})
    found = [(row["freezer_temperature"], row["freezer_celsius"]) for row in rows]
    assert found == [("reading", -14), ("food_soft", None)]


def test_the_unit_its_age_and_the_season() -> None:
    unit = {"installed_on": datetime(2025, 3, 1), "ice_maker_kind": "flex_tray", "product_family": "side"}
    rows = known(
        {"unit": unit, "unit_age": "2 years"},
        {"unit_age": "2 years"},
        {"unit": {"installed_on": datetime(2026, 4, 1)}},  # after the call: not believed
    )
    assert [row["unit_age_days"] for row in rows] == [365, 731, None]
    assert (rows[0]["ice_maker_kind"], rows[0]["product_family"], rows[0]["season"]) == (
        "flex_tray", "side", "spring",
    )  # fmt: skip


def test_the_same_again_and_calls_that_are_no_repair() -> None:
    fleet = SmallFleet()
    fleet.call("A", opened="2026-01-01 09:00", complaint="water_slow")
    fleet.call("B", opened=DAY, complaint="same again")
    fleet.call("C", "U2", opened=DAY, job_kind="install")
    fleet.call("D", "U3", opened=DAY, closed=None)
    fleet.call("E", "U4", opened=DAY)
    fleet.withdraw("calls", call_id="E")
    found = {row["call_id"]: row for row in fleet.build().table("from marts.intake").to_dicts()}
    assert set(found) == {"A", "B", "D"}
    assert (found["B"]["symptoms"], found["B"]["families"]) == (["water_slow"], ["water_at_door"])


def ended() -> SmallFleet:
    """Six strings of returns old enough to judge, one too young, one call on which no work was done."""
    fleet = SmallFleet()

    def repair(
        name: str, unit: str, opened: str, cause: str | None, check: str | None = None, **more: Any
    ) -> None:
        fleet.call(name, unit, opened=f"{opened} 09:00", root_cause=cause, **more)
        fleet.visit(f"V{name}", name, arrived=f"{opened} 09:30", left=f"{opened} 10:00")
        if check:
            fleet.check(check, "fault", visit_id=f"V{name}")

    repair("A", "U1", "2026-01-01", "tube_frozen", "tube_look", mould_state="hollow")
    repair("A2", "U1", "2026-01-11", "valve_seeping", "seep_test", mould_state="empty")
    repair("B", "U2", "2026-01-02", "valve_seeping")
    fleet.part("inlet_valve", visit_id="VB")
    repair("C", "U3", "2026-01-03", "module_failed")
    repair("D", "U4", "2026-01-04", "no_fault_found", "seep_test")
    repair("E", "U5", "2026-01-05", "? eh")
    repair("F", "U6", "2026-01-06", None)
    repair("G", "U7", "2026-05-20", "valve_seeping", "seep_test")
    fleet.call("H", "U8", opened="2026-01-07 09:00", root_cause="valve_seeping", outcome="cancelled")
    fleet.ends("2026-06-01")
    return fleet.build()


def read(fleet: SmallFleet) -> Training:
    return training(fleet.fleet._read())


def check_ended(fleet: SmallFleet) -> None:
    found = read(fleet)
    assert found.counts() == {
        "mature": 6, "learned_from": 2, "probable": 1, "no_fault_found": 1, "not_recognised": 2,
    }  # fmt: skip
    rows = found.confirmed.select("call_id", "final_cause", "mould_state").rows()
    assert rows == [("A", "valve_seeping", "hollow"), ("B", "valve_seeping", None)]
    assert found.probable["call_id"].to_list() == ["C"]
    known_on = found.confirmed["learned_at"].dt.date().cast(str).to_list()
    later = training(fleet.fleet._read(), datetime(2026, 1, 2, 9))  # opened after it, not at it
    assert later.counts()["learned_from"] == 0
    assert later.probable["call_id"].to_list() == ["C"]
    assert known_on == ["2026-02-10", "2026-02-01"]  # 30 days after the last closing


def test_what_is_learned_from() -> None:
    check_ended(ended())


@pytest.mark.parametrize(
    ("passage", "other"),
    [
        ("intake.call_id = episodes.episode_id", "intake.call_id = episodes.last_call_id"),
        ("coalesce(episodes.confirmed, false)", "coalesce(episodes.held, false)"),
        ("    episodes.final_cause,", "    last_calls.first_diagnosis as final_cause,"),
        (
            "last_calls.call_id = episodes.last_call_id",
            "last_calls.call_id = episodes.last_call_id and episodes.confirmed",
        ),
    ],
)
def test_other_rules_are_caught(passage: str, other: str) -> None:
    fleet = ended()
    break_view(fleet, "marts.training", passage, other)
    with pytest.raises(AssertionError):
        check_ended(fleet)


def test_strings_too_young_are_caught(monkeypatch: pytest.MonkeyPatch) -> None:
    fleet, batches = ended(), queries.batches
    late = {"cutoffs": [datetime(2026, 12, 1)] * 4, "since": None}
    monkeypatch.setattr(queries, "batches", lambda cursor, name, values: batches(cursor, name, late))
    with pytest.raises(AssertionError):
        check_ended(fleet)
