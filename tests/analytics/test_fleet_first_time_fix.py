"""First-time fix by hand: what it is judged on, and what spoils it."""

from analytics.filters import Filters
from tests.analytics.small_fleet import SmallFleet

RESULTS_OF_FIRST_VISIT = {"part": "part_on_order", "nobody": "no_access"}


def mixed() -> SmallFleet:
    """One call of each kind, each of its own unit, all judged."""
    fleet = SmallFleet()
    for number, name in enumerate(["fixed", "back", "part", "nobody", "wrong", "other", "phone"]):
        fleet.call(
            name,
            f"U{number}",
            opened="2026-01-01 09:00",
            closed="2026-01-09 12:00",
            root_cause="valve_seeping",
            first_diagnosis="module_failed" if name == "wrong" else "valve_seeping",
        )
        if name != "phone":
            result = RESULTS_OF_FIRST_VISIT.get(name, "done")
            fleet.visit(f"{name}1", name, arrived="2026-01-02 10:00", result=result)
        if name in ("part", "nobody", "wrong", "other"):
            fleet.visit(f"{name}2", name, arrived="2026-01-05 10:00")
    fleet.call("return", "U1", opened="2026-01-12 09:00", closed="2026-01-13 12:00")
    fleet.visit("return1", "return", arrived="2026-01-13 10:00")
    fleet.ends("2026-06-01")
    return fleet.build()


def test_rate() -> None:
    found = mixed().fleet.figures(Filters())
    rate = found.first_time_fix_rate
    assert rate.name == "first_time_fix_rate"
    assert (rate.numerator, rate.denominator) == (1, 6)
    assert rate.left_out == {"is_callback": 1, "no_visit": 1}
    assert found.counts["completed_without_visit"] == 1


def test_among_calls_where_somebody_let_us_in() -> None:
    rate = mixed().fleet.figures(Filters()).first_time_fix_let_in
    assert (rate.numerator, rate.denominator) == (1, 5)


def test_spoiled() -> None:
    fleet = mixed().fleet
    rows = fleet.spoiled(Filters())
    assert rows.select("reason", "calls", "calls_any").rows() == [
        ("came_back", 1, 1),
        ("part", 1, 1),
        ("diagnosis", 1, 1),
        ("no_access", 1, 1),
        ("other", 1, 1),
    ]
    for subset, calls in rows.select("subset", "calls").iter_rows():
        assert fleet.calls(Filters(), subset)[1] == calls


def test_helper_is_no_second_visit() -> None:
    fleet = SmallFleet()
    fleet.call("A", opened="2026-01-01 09:00")
    fleet.visit("V1", "A", arrived="2026-01-01 10:00", left="2026-01-01 11:00")
    fleet.visit("V2", "A", arrived="2026-01-01 10:15", left="2026-01-01 11:00")
    fleet.ends("2026-06-01")
    assert fleet.build().fleet.figures(Filters()).first_time_fix_rate.numerator == 1


def test_without_visits_it_has_another_name() -> None:
    fleet = SmallFleet()
    fleet.call("A", "U1", opened="2026-01-01 09:00")
    fleet.call("B", "U1", opened="2026-01-05 09:00", outcome="cancelled")
    fleet.call("C", "U2", opened="2026-01-01 09:00")
    fleet.ends("2026-06-01")
    found = fleet.build().fleet.figures(Filters())
    rate = found.first_time_fix_rate
    assert rate.name == "closed_without_return"
    assert (rate.numerator, rate.denominator) == (1, 2)
    assert any("Without visits" in note for note in found.notes)
