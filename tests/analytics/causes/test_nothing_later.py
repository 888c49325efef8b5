"""Whatever is changed or added after the telephone rang, no feature of the call changes."""

from collections.abc import Callable
from typing import Any

import pytest

from analytics import queries
from analytics.causes.features import as_features
from tests.analytics.causes.mutated_views import break_view
from tests.analytics.small_catalogue import SYMPTOMS
from tests.analytics.small_fleet import SmallFleet, moment

ANSWERS = {
    "filter_last_changed": "dont_know",  # so that the filter's age is the recorded one
    "filter_kind": "in_unit",
    "unit_age": "4 years",
    "problem_duration": "2 weeks",
    "mould_state": "hollow",
    "dispenser_flow": "slow",
    "fill_tube_ice": "no",
    "switch_on": "yes",
    "freezer_temperature": "-18 celsius",
    "supply_type": "well",
    "shutoff_valve": "saddle",
    "what_changed": "moved",
    "where_it_stands": "garage",
    "already_tried": "power_cycle",
}
OTHERS = dict.fromkeys(ANSWERS, "? other")


def rung_in() -> SmallFleet:
    """A call of 1 March with every answer, on a unit that had an earlier call and an earlier filter."""
    fleet = SmallFleet()
    fleet.unit("U1", installed_on=moment("2020-05-01")[0], product_family="side", ice_maker_kind="flex_tray")
    fleet.filter_change("2025-10-01")
    fleet.call("P", opened="2025-11-01 09:00", complaint="water_slow", root_cause="filter_restricted")
    fleet.call("A", complaint="no_ice+water_slow", root_cause="valve_seeping", **ANSWERS)
    fleet.ends("2026-12-01")
    return fleet


def write(fleet: SmallFleet, **columns: Any) -> None:
    names = ", ".join(f"{name} = ?" for name in columns)
    fleet.connection.execute(f"update records.calls set {names} where call_id = 'A'", [*columns.values()])


def later_closing(fleet: SmallFleet) -> None:
    write(fleet, closed_at=moment("2026-05-09")[0], closed_has_time=False, technician_id="T9", payer="? eh")


def left_open(fleet: SmallFleet) -> None:
    write(fleet, closed_at=None, closed_has_time=None, outcome=None, root_cause=None)


def other_cause(fleet: SmallFleet) -> None:
    write(fleet, closed_at=moment("2026-03-01 11:00")[0], closed_has_time=True, outcome="repaired",
          root_cause="module_failed", first_diagnosis="tube_frozen", callback_flag="yes")  # fmt: skip


def other_outcome(fleet: SmallFleet) -> None:
    write(fleet, outcome="cancelled")


def visits_and_checks(fleet: SmallFleet) -> None:
    write(fleet, outcome="repaired")
    fleet.visit("V1", "A", result="part_on_order")
    fleet.visit("V2", "A", arrived="2026-03-05 10:00", technician_id="T2")
    fleet.check("seep_test", "fault", visit_id="V1", minutes=4.0, reading=3.0)
    fleet.check("tube_look", "fault", call_id="A")


def filters_fitted(fleet: SmallFleet) -> None:
    fleet.part("water_filter", visit_id="V1")
    fleet.part("water_filter", visit_id="V2")
    fleet.part("water_filter", call_id="A")
    fleet.part("inlet_valve", visit_id="V2", cost=40.0)


def filter_changes(fleet: SmallFleet) -> None:
    for day in ("2026-03-01", "2026-03-02", "2026-06-01"):
        fleet.filter_change(day)


def follow_ups(fleet: SmallFleet) -> None:
    fleet.follow_up("A", "2026-03-09", "works")


def later_calls(fleet: SmallFleet) -> None:
    fleet.call("B", opened="2026-03-09 09:00", complaint="leak_floor", root_cause="tube_frozen", **OTHERS)
    fleet.call("C", opened="2026-03-20 09:00", complaint="same again", root_cause="module_failed")
    fleet.call("D", opened="2026-04-20 09:00", job_kind="install")
    fleet.filter_change("2026-04-20")


def unit_retired(fleet: SmallFleet) -> None:
    fleet.connection.execute("update records.units set retired_on = date '2026-08-01'")


CHANGES: list[Callable[[SmallFleet], None]] = [
    later_closing, left_open, other_cause, other_outcome, visits_and_checks, filters_fitted, filter_changes,
    follow_ups, later_calls, unit_retired,
]  # fmt: skip


def known(fleet: SmallFleet) -> tuple[dict[str, Any], dict[str, Any]]:
    """Return the row of the call in marts.intake, and the features made of it."""
    rows = fleet.build().table("from marts.intake where call_id = 'A'")
    return rows.row(0, named=True), as_features(rows, sorted(SYMPTOMS)).row(0, named=True)


def check_nothing_later(fleet: SmallFleet) -> None:
    before = known(fleet)
    assert None not in before[0].values(), "every column is told or listed, so that each could change"
    assert before[0]["filter_age_days"] == 151
    for change in CHANGES:
        change(fleet)
        assert known(fleet) == before, f"{change.__name__} changes a feature"


def test_nothing_later_changes_a_feature() -> None:
    check_nothing_later(rung_in())


def test_what_is_told_does_change_features() -> None:
    """So that the check does not hold merely because nothing is read."""
    fleet = rung_in()
    before = known(fleet)[0]
    write(fleet, complaint="leak_floor", **OTHERS)
    after = known(fleet)[0]
    fixed = {"call_id", "unit_id", "unit_hash", "opened_at", "product_family", "ice_maker_kind", "season"}
    of_the_unit = {"unit_age_days", "filter_age_days"}
    assert {name for name in before if before[name] == after[name]} == fixed | of_the_unit


@pytest.mark.parametrize(
    ("passage", "other"),
    [
        ("    calls.product_family,", "    coalesce(calls.cause, calls.product_family) as product_family,"),
        ("month(calls.opened_at) in (3, 4, 5)", "month(calls.closed_at) in (3, 4, 5)"),
        ("freezer_temperature.number as", "if(calls.visits > 0, 1, freezer_temperature.number) as"),
        ("mould_state.text = rows.mould_state", "mould_state.text = if(rows.outcome = 'cancelled', null, rows.mould_state)"),
        ("calls.opened_at::date - calls.installed_on", "if(calls.follow_up = 'works', 0, calls.opened_at::date - calls.installed_on)"),
    ],
)  # fmt: skip
def test_a_leak_is_caught(passage: str, other: str) -> None:
    fleet = rung_in()
    break_view(fleet, "marts.intake", passage, other)
    with pytest.raises(AssertionError, match="changes a feature"):
        check_nothing_later(fleet)


def test_a_filter_changed_on_the_day_that_counts_is_caught(monkeypatch: pytest.MonkeyPatch) -> None:
    statement = queries.statement

    def with_the_day(name: str) -> str:
        text = statement(name)
        if name == "marts/filter_ages":
            assert "days.day > changes.changed_on" in text
            text = text.replace("days.day > changes.changed_on", "days.day >= changes.changed_on")
        return text

    monkeypatch.setattr(queries, "statement", with_the_day)
    with pytest.raises(AssertionError, match="filters_fitted changes a feature"):
        check_nothing_later(rung_in())
