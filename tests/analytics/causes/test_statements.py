"""The statements of sql/causes that no other test asks by hand."""

from collections.abc import Callable
from datetime import datetime
from typing import Any

import polars as pl
import pytest

from analytics import queries
from tests.analytics.small_fleet import SmallFleet

EARLY = {"cutoffs": [datetime(2026, 4, 1)] * 4}
LATE = {"cutoffs": [datetime(2026, 12, 1)] * 4}


def ask(fleet: SmallFleet, name: str, **values: Any) -> pl.DataFrame:
    return queries.frame(fleet.connection, f"causes/{name}", values)


def repair(fleet: SmallFleet, name: str, unit: str, day: str, cause: str | None = None, **more: Any) -> None:
    fleet.call(name, unit, opened=f"{day} 09:00", root_cause=cause, **more)
    fleet.visit(f"V{name}", name, arrived=f"{day} 09:30")


def by_telephone(fleet: SmallFleet) -> list[tuple[Any, ...]]:
    return ask(fleet, "by_telephone").rows()


def test_settled_without_a_visit() -> None:
    """Of two calls with a clogged filter one had no visit; one cancelled, one open, one without a cause."""
    fleet = SmallFleet()
    repair(fleet, "A", "U1", "2026-01-01", "filter_restricted")
    fleet.call("B", "U2", root_cause="filter_restricted")
    fleet.call("C", "U3", root_cause="filter_restricted", outcome="cancelled")
    fleet.call("D", "U4", root_cause="filter_restricted", closed=None)
    fleet.call("E", "U5", root_cause="? eh")
    repair(fleet, "F", "U6", "2026-01-01", "module_failed")
    assert by_telephone(fleet.build()) == [("filter_restricted", 2, 1), ("module_failed", 1, 0)]


def test_where_no_visit_was_loaded_nothing_is_known_of_it() -> None:
    fleet = SmallFleet()
    fleet.call("A", root_cause="filter_restricted")
    assert by_telephone(fleet.build()) == []


def test_checks_of_the_first_visit_in_order() -> None:
    """Of A the first visit alone, each check once; of B also one that names no visit; of C no visit."""
    fleet = SmallFleet()
    repair(fleet, "A", "U1", "2026-01-01")
    fleet.visit("VA2", "A", arrived="2026-01-02 09:30")
    fleet.check("tube_look", visit_id="VA", sequence=2)
    fleet.check("seep_test", visit_id="VA", sequence=1)
    fleet.check("tube_look", visit_id="VA", sequence=3)
    fleet.check("seep_test", visit_id="VA2", sequence=1)
    repair(fleet, "B", "U2", "2026-01-01")
    fleet.check("seep_test", visit_id="VB", sequence=2)
    fleet.check("tube_look", call_id="B", sequence=1)
    fleet.call("C", "U3")
    fleet.check("tube_look", call_id="C")
    fleet.check("seep_test", call_id="C", sequence=4)
    fleet.check("? eh", call_id="C", sequence=1)
    repair(fleet, "D", "U4", "2026-01-01")
    fleet.build()
    found = ask(fleet, "check_sequences", call_ids=["A", "B", "C", "D"])
    assert dict(found.iter_rows()) == {
        "A": ["seep_test", "tube_look"], "B": ["tube_look", "seep_test"], "C": ["seep_test", "tube_look"],
    }  # fmt: skip
    assert ask(fleet, "check_sequences", call_ids=["D"]).height == 0


def test_costs_of_parts() -> None:
    """Two valves for 90 and one for 30: 40 a piece; of the module no cost is known."""
    fleet = SmallFleet()
    repair(fleet, "A", "U1", "2026-01-01")
    fleet.part("inlet_valve", visit_id="VA", quantity=2.0, cost=90.0)
    fleet.part("inlet_valve", call_id="A", cost=30.0)
    fleet.part("inlet_valve", call_id="A", occurrence=2, cost=None)
    fleet.part("module", visit_id="VA")
    fleet.part("water_filter", visit_id="VA", quantity=0.0, cost=10.0)
    fleet.part("? eh", visit_id="VA", cost=10.0)
    assert ask(fleet.build(), "part_costs").rows() == [("inlet_valve", 40, 3)]


@pytest.mark.parametrize(
    ("left", "minutes"),
    [(None, None), ("2026-01-01 09:34", None), ("2026-01-01 10:00", 30), ("2026-01-01 18:00", None)],
)
def test_minutes_on_site(left: str | None, minutes: float | None) -> None:
    """From 5 minutes to 8 hours; what is shorter or longer is a slip of the pen."""
    fleet = SmallFleet()
    fleet.call("A", opened="2026-01-01 09:00")
    fleet.visit("V1", "A", arrived="2026-01-01 09:30", left=left)
    fleet.visit("V2", "A", arrived="2026-01-02", left="2026-01-02 09:00")
    assert ask(fleet.build(), "second_visit")["minutes"].item() == minutes


def test_what_was_known_of_calls() -> None:
    fleet = SmallFleet()
    for n, name in enumerate(("C", "A", "B")):
        fleet.call(name, f"U{n}", opened=f"2026-01-0{n + 1} 09:00")
    fleet.call("I", "U9", job_kind="install")
    fleet.build()
    assert ask(fleet, "intake", call_ids=[])["call_id"].to_list() == ["C", "A", "B"]
    assert ask(fleet, "intake", call_ids=["B", "C", "I", "nobody"])["call_id"].to_list() == ["C", "B"]
    since = ask(fleet, "intake_since", since=datetime(2026, 1, 2, 9))
    assert since["call_id"].to_list() == ["B"]  # opened after it, not at it
    assert ask(fleet, "intake_since", since=None).height == 0


def test_similar_calls() -> None:
    """Confirmed, held, of one call alone and old enough; the latest first, with the parts of the call."""
    fleet = SmallFleet()
    for n, name in enumerate(("A", "B", "C", "D")):
        repair(fleet, name, f"U{n}", f"2026-01-0{n + 1}", "valve_seeping")
        fleet.part("inlet_valve", visit_id=f"V{name}")
    fleet.part("module", visit_id="VB")  # two parts, no check: probable only
    repair(fleet, "C2", "U2", "2026-01-10", "valve_seeping")  # C came back
    fleet.check("seep_test", "fault", visit_id="VC2")
    repair(fleet, "E", "U8", "2026-05-20", "valve_seeping")
    fleet.check("seep_test", "fault", visit_id="VE")
    fleet.build()
    found = ask(fleet, "similar", days=180, most=9, **EARLY)
    assert found.select("call_id", "final_cause", "parts").rows() == [
        ("D", "valve_seeping", ["inlet_valve"]), ("A", "valve_seeping", ["inlet_valve"]),
    ]  # fmt: skip
    recent = ask(fleet, "similar", days=88, most=9, **EARLY)  # closed after 3 January
    assert recent["call_id"].to_list() == ["D"]
    assert ask(fleet, "similar", days=365, most=1, **LATE)["call_id"].to_list() == ["E"]


@pytest.mark.parametrize(
    ("name", "passage", "other", "check"),
    [
        ("by_telephone", "where is_completed", "where true", test_settled_without_a_visit),
        ("by_telephone", "exists (from marts.visits)", "true",
         test_where_no_visit_was_loaded_nothing_is_known_of_it),
        ("check_sequences", "made.arrived_at is null or ", "", test_checks_of_the_first_visit_in_order),
        ("check_sequences", "min(arrived_at)", "max(arrived_at)", test_checks_of_the_first_visit_in_order),
        ("part_costs", "sum(cost) / sum(quantity)", "avg(cost)", test_costs_of_parts),
        ("intake_since", "opened_at > ", "opened_at >= ", test_what_was_known_of_calls),
        ("similar", "training.confirmed", "true", test_similar_calls),
        ("similar", "episodes.calls = 1", "true", test_similar_calls),
    ],
)  # fmt: skip
def test_other_statements_are_caught(
    name: str, passage: str, other: str, check: Callable[[], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    statement = queries.statement

    def broken(asked: str) -> str:
        text = statement(asked)
        if asked != f"causes/{name}":
            return text
        assert passage in text
        return text.replace(passage, other)

    monkeypatch.setattr(queries, "statement", broken)
    with pytest.raises(AssertionError):
        check()
