"""First visits by hand: by group, reasons, telephone, and parts that would have saved a second trip."""

import pytest

from analytics import queries
from analytics.errors import BadQuestion
from analytics.filters import GROUPINGS, Filters
from analytics.questions.subsets import SUBSETS
from tests.analytics.kept_fleets import kept
from tests.analytics.small_fleet import SmallFleet
from tests.analytics.test_fleet_first_time_fix import mixed

FITTED = {
    "K": ["inlet_valve"],
    "L": ["inlet_valve"],
    "M": ["inlet_valve", "water_filter"],
    "N": ["module"],
    "P": ["inlet_valve", "? a thing"],
}


@kept
def waiting() -> SmallFleet:
    """The example of docs/metrics.md; K is a return trip, Q waited but nothing was recorded as fitted."""
    fleet = SmallFleet()
    for number, (name, parts) in enumerate([*FITTED.items(), ("Q", [])]):
        unit = f"U{number}"
        if name == "K":
            fleet.call("J", unit, opened="2026-01-01 09:00", outcome="part_on_order", depot="north")
            fleet.visit("J1", "J", arrived="2026-01-01 10:00", result="part_on_order")
        fleet.call(
            name, unit, opened="2026-01-02 09:00", closed="2026-01-09 12:00", root_cause="valve_seeping",
            depot="north" if number % 2 else "south",
        )  # fmt: skip
        if name != "K":
            fleet.visit(f"{name}1", name, arrived="2026-01-02 10:00", result="part_on_order")
            # fitted before the second trip: from the van, and no reason for the trip
            fleet.part("module", visit_id=f"{name}1")
        fleet.visit(f"{name}2", name, arrived="2026-01-05 10:00", left="2026-01-05 11:00")
        # a helper who came later carried it in: still the same trip
        fleet.visit(f"{name}3", name, arrived="2026-01-05 10:30", left="2026-01-05 11:00")
        for part in parts:
            fleet.part(part, visit_id=f"{name}3")
    fleet.call("R", "U9", opened="2026-01-02 09:00")  # no second trip
    fleet.visit("R1", "R", arrived="2026-01-02 10:00")
    fleet.part("inlet_valve", visit_id="R1")
    fleet.ends("2026-06-01")
    return fleet.build()


def check_example() -> None:
    aboard = waiting().fleet.first_visit(Filters()).aboard
    assert (aboard.trips, aboard.known) == (6, 4)
    assert aboard.single.select("part", "fitted", "saved").rows() == [
        ("inlet_valve", 3, 2), ("module", 1, 1), ("water_filter", 1, 0),
    ]  # fmt: skip
    assert aboard.best.select("parts", "added", "saved").rows() == [
        (["inlet_valve"], 1, 2), (["module"], 2, 3), (["water_filter"], 3, 4),
    ]  # fmt: skip


def test_parts_that_would_have_saved_a_trip() -> None:
    check_example()


@pytest.mark.parametrize(
    ("statement", "right", "wrong"),
    [
        ("metrics/second_trips", "visits.arrived_at >= trips.resumed_at", "true"),
        ("metrics/second_trips", "visits.visit_number > waited.visit_number", "true"),
        ("metrics/second_trips", "where calls.return_trip_of is not null or", "where"),
        ("metrics/second_trips", "count_if(part is null)", "0"),
    ],
)
def test_broken_second_trips_are_caught(
    monkeypatch: pytest.MonkeyPatch, statement: str, right: str, wrong: str
) -> None:
    original = queries.statement
    assert right in original(statement)
    monkeypatch.setattr(queries, "statement", lambda name: original(name).replace(right, wrong))
    with pytest.raises(AssertionError):
        check_example()


def test_each_second_trip_can_be_listed() -> None:
    fleet = waiting().fleet
    trips = fleet.second_trips(Filters()).sort("call_id")
    assert trips["call_id"].to_list() == ["K", "L", "M", "N", "P", "Q"]
    assert trips["saved_from_step"].to_list() == [1, 1, 3, 2, None, None]
    assert fleet.calls(Filters(), "second_trips")[1] == 6
    assert fleet.second_trips(Filters(depots=("south",)))["call_id"].to_list() == ["K", "M", "P"]


def test_part_recorded_without_its_visit_counts_as_fitted_afterwards() -> None:
    fleet = SmallFleet()
    fleet.call("A", opened="2026-01-01 09:00", closed="2026-01-09 09:00")
    fleet.visit("V1", "A", arrived="2026-01-02 10:00", result="part_on_order")
    fleet.visit("V2", "A", arrived="2026-01-05 10:00")
    fleet.part("inlet_valve", visit_id="V2")
    fleet.part("module", call_id="A")
    fleet.ends("2026-06-01")
    assert fleet.build().fleet.second_trips(Filters())["parts"].to_list() == ["inlet_valve module"]


def test_whole_is_what_figures_and_spoiled_say() -> None:
    fleet = mixed().fleet
    found, figures = fleet.first_visit(Filters(), by="depot"), fleet.figures(Filters())
    assert (found.whole.rate.numerator, found.whole.rate.denominator) == (1, 6)
    assert (found.whole.rate.low, found.whole.rate.high) == (
        figures.first_time_fix_rate.low, figures.first_time_fix_rate.high,
    )  # fmt: skip
    assert (found.whole.let_in.numerator, found.whole.let_in.denominator) == (1, 5)
    assert found.reasons.equals(fleet.spoiled(Filters()))
    assert found.whole.fixed_by_phone == 1
    assert found.whole.rate.left_out == {"not_completed": 0, "is_callback": 1, "no_visit": 1}


@pytest.mark.parametrize("by", GROUPINGS)
def test_groups_are_the_whole_narrowed_to_them(by: str) -> None:
    """Of each group the same as when only its calls are chosen: the filters are another way to the same."""
    fields = {"depot": "depots", "symptom": "symptoms", "cause": "causes", "part": "parts"}
    for fleet in (mixed().fleet, waiting().fleet):
        found = fleet.first_visit(Filters(), by=by)
        assert sum(each.calls for each in found.groups) >= found.whole.calls - (by == "month")
        for each in found.groups if by in fields else ():
            alone = fleet.first_visit(Filters(**{fields[by]: (each.group or "",)})).whole  # type: ignore[arg-type]
            assert (alone.rate.numerator, alone.rate.denominator) == (
                each.rate.numerator, each.rate.denominator,
            )  # fmt: skip
            assert alone.reasons == each.reasons


def test_each_number_has_its_calls() -> None:
    fleet = mixed().fleet
    found = fleet.first_visit(Filters())
    whole = found.whole
    wanted = {
        "first_time_fix": whole.rate.numerator,
        "first_time_judged": whole.rate.denominator,
        "fixed_by_phone": whole.fixed_by_phone,
    } | dict(found.reasons.select("subset", "calls").iter_rows())
    assert {subset: fleet.calls(Filters(), subset)[1] for subset in wanted} == wanted
    assert wanted.keys() <= SUBSETS.keys()


def test_without_visits_it_has_another_name() -> None:
    fleet = SmallFleet()
    fleet.call("A", "U1", opened="2026-01-01 09:00")
    fleet.call("B", "U1", opened="2026-01-05 09:00", outcome="cancelled")
    fleet.call("C", "U2", opened="2026-01-01 09:00")
    fleet.ends("2026-06-01")
    found = fleet.build().fleet.first_visit(Filters(), by="depot")
    assert not found.has_visits
    assert found.whole.rate.name == "closed_without_return"
    assert (found.whole.rate.numerator, found.whole.rate.denominator) == (1, 2)
    assert fleet.fleet.calls(Filters(), "own_held")[1] == 1
    assert fleet.fleet.calls(Filters(), "own_judged")[1] == 2
    assert "closed_without_return" in found.to_dict()["whole"]
    assert "first_time_fix_rate" not in found.to_dict()["whole"]


def test_people_are_not_ordered_by_how_they_did() -> None:
    fleet = SmallFleet()
    for n in range(6):
        who = "T1" if n < 4 else "T2"
        fleet.call(f"C{n}", f"U{n}", opened="2026-01-01 09:00", technician_id=who)
        fleet.visit(f"V{n}", f"C{n}", arrived="2026-01-01 10:00", technician_id=who)
        if who == "T2":
            fleet.visit(f"W{n}", f"C{n}", arrived="2026-01-03 10:00", technician_id=who)
    fleet.ends("2026-06-01")
    found = fleet.build().fleet.first_visit(Filters(), by="technician")
    assert [each.group for each in found.groups] == ["T1", "T2"]


def test_no_such_grouping_is_said() -> None:
    with pytest.raises(BadQuestion, match="depot"):
        mixed().fleet.first_visit(Filters(), by="weather")
