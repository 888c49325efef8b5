"""What returns cost, by hand: the example of docs/metrics.md, its groups, and what is and is not counted."""

from dataclasses import replace

import pytest

from analytics import queries
from analytics.cost_assumptions import CostAssumptions
from analytics.errors import BadQuestion
from analytics.filters import Filters
from analytics.questions.costs import COSTED_BY
from tests.analytics.kept_fleets import kept
from tests.analytics.small_fleet import SmallFleet


@kept
def example(pairs: int = 1) -> SmallFleet:
    """Two calls that came back (so many times over), one that did not; the returns as the docs have them."""
    fleet = SmallFleet()
    for pair in range(pairs):
        for name, unit, cause in (("A", "U", "valve_seeping"), ("C", "V", "module_failed")):
            fleet.call(
                f"{name}{pair}", f"{unit}{pair}", opened="2026-01-01 09:00", closed="2026-01-01 12:00",
                root_cause=cause, depot="north" if name == "A" else "south",
            )  # fmt: skip
        fleet.call(f"B{pair}", f"U{pair}", opened="2026-01-11 09:00", closed="2026-01-12 09:00",
                   root_cause="module_failed", depot="north")  # fmt: skip
        fleet.visit(f"B{pair}1", f"B{pair}", arrived="2026-01-11 10:00", left="2026-01-11 10:40")
        fleet.part("inlet_valve", visit_id=f"B{pair}1", call_id=f"B{pair}", cost=62.0)
        fleet.call(f"D{pair}", f"V{pair}", opened="2026-01-11 09:00", closed="2026-01-20 09:00",
                   root_cause="valve_seeping", depot="south")  # fmt: skip
        fleet.visit(f"D{pair}1", f"D{pair}", arrived="2026-01-11 10:00", result="part_on_order")
        fleet.visit(f"D{pair}2", f"D{pair}", arrived="2026-01-19 10:00")
        fleet.part("module", call_id=f"D{pair}", quantity=2.0)
    fleet.call("E", "W", opened="2026-02-01 09:00", closed="2026-02-01 12:00", depot="south")
    fleet.visit("E1", "E", arrived="2026-02-01 10:00", left="2026-02-03 10:00")  # no visit lasts two days
    for depot in ("north", "south"):
        fleet.call(f"late {depot}", f"late {depot}", opened="2026-03-05 09:00", depot=depot)
    fleet.ends("2026-03-10")
    return fleet.build()


def check_example() -> None:
    found = example().fleet.costs(Filters())
    assert (found.calls, found.came_back, found.returns) == (5, 2, 2)
    assert (found.timed, found.visits, found.minutes) == (1, 4, 40.0)
    assert found.cost.value == pytest.approx(402)
    assert found.per_return.value == pytest.approx(201)
    assert found.cost.low is None, "two units are too few for an interval"
    rows = {row["group"]: row for row in found.groups.to_dicts()}
    assert rows["valve_seeping"]["cost"] == pytest.approx(152)
    assert rows["module_failed"]["cost"] == pytest.approx(250)
    assert found.made_of["money"].sum() == pytest.approx(402)
    # 1 January 12:00 to 1 February 12:00, both days counted
    assert found.years == pytest.approx(32 / 365.25)
    assert found.per_year is not None
    assert found.per_year.value == pytest.approx(402 * 365.25 / 32)


def test_example_of_the_docs() -> None:
    check_example()


@pytest.mark.parametrize(
    ("statement", "right", "wrong"),
    [
        ("metrics/work_of_returns", "parts.visit_id is null and", ""),
        ("metrics/work_of_returns", "filter (cost is null)", ""),
        ("metrics/minutes_on_site", "and minutes <= 720", ""),
        ("metrics/came_back_rows", "where judged and came_back", "where judged"),
        ("metrics/judged_units", "where judged", ""),
    ],
)
def test_broken_costs_are_caught(
    monkeypatch: pytest.MonkeyPatch, statement: str, right: str, wrong: str
) -> None:
    original = queries.statement
    assert right in original(statement)
    monkeypatch.setattr(
        queries,
        "statement",
        lambda name: original(name).replace(right, wrong) if name == statement else original(name),
    )
    if statement == "metrics/came_back_rows":
        # the calls that did not come back have no returns: what is caught is their number
        with pytest.raises(AssertionError):
            assert example().fleet.costs(Filters()).came_back == 2
        return
    with pytest.raises(AssertionError):
        check_example()


def test_by_what_it_turned_out_to_be_in_the_end() -> None:
    found = example().fleet.costs(Filters(), by="final_cause")
    rows = {row["group"]: row["cost"] for row in found.groups.to_dicts()}
    assert rows == pytest.approx({"module_failed": 152, "valve_seeping": 250})
    assert found.halved is None, "a final cause has no rate of its own"


def test_each_assumption_is_worth_what_it_says() -> None:
    fleet, usual = example().fleet, CostAssumptions.usual()
    more = {
        "hour_price": (60 + 1, (120 + 90) / 60),  # 120 minutes on site, three visits of 30 minutes' travel
        "travel_minutes": (31, 3 * 1.0),
        "travel_km": (21, 3 * 0.5),
        "km_price": (1.5, 3 * 20),
        "office_minutes": (16, 2 * 40 / 60),
        "office_hour_price": (41, 2 * 15 / 60),
        "visit_minutes": (100, 0),  # a visit is timed, so that this one does not matter
        "part_cost": (41, 2),
    }
    for key, (value, worth) in more.items():
        dearer = fleet.costs(Filters(), assumed=replace(usual, **{key: value})).cost.value
        assert dearer == pytest.approx(402 + worth), key


def test_costs_by_group_add_up_and_have_intervals() -> None:
    found = example(pairs=12).fleet.costs(Filters(), by="depot")
    assert found.groups["cost"].sum() == pytest.approx(found.cost.value)
    assert found.cost.value == pytest.approx(12 * 402)
    for low, cost, high in found.groups.select("low", "cost", "high").rows():
        assert low < cost < high
    assert found.per_return.low is not None
    assert found.per_return.low < 201 < found.per_return.high  # type: ignore[operator]
    assert found.groups.filter(group="north")["per_return_low"][0] == pytest.approx(152), "all alike"


def test_returns_one_by_one_add_up() -> None:
    fleet = example(pairs=3).fleet
    rows = fleet.costed_returns(Filters())
    assert rows["cost"].sum() == pytest.approx(3 * 402)
    assert rows.filter(return_call_id="D1").select("call_id", "final_cause", "visits", "unpriced").row(0) == (
        "C1", "valve_seeping", 2.0, 2.0,
    )  # fmt: skip
    assert fleet.calls(Filters(), "came_back")[1] == fleet.costs(Filters()).came_back == 6


def test_filters_and_window_hold() -> None:
    fleet = example(pairs=2).fleet
    assert fleet.costs(Filters(depots=("north",))).cost.value == pytest.approx(2 * 152)
    week = fleet.costs(Filters(window_days=7))
    assert (week.returns, week.cost.value, week.per_return.value) == (0, 0, None)
    assert fleet.costs(Filters(causes=("no_such",))).calls == 0


def test_group_above_the_rate_of_all_is_where_halving_saves() -> None:
    fleet = SmallFleet()
    for n in range(600):
        depot = "bad" if n < 200 else "good"
        fleet.call(f"A{n}", f"U{n}", opened="2026-01-01 09:00", depot=depot)
        if n % (4 if depot == "bad" else 20) == 0:
            fleet.call(f"R{n}", f"U{n}", opened="2026-01-09 09:00", outcome="cancelled", depot=depot)
    for depot in ("bad", "good"):  # so that neither depot counts as fallen silent
        fleet.call(f"late {depot}", f"late {depot}", opened="2026-03-05 09:00", depot=depot)
    fleet.ends("2026-03-10")
    found = fleet.build().fleet.costs(Filters(), by="depot")
    rows = {row["group"]: row for row in found.groups.to_dicts()}
    # 70 of 600 came back; of the 200 that is 23.3, and 50 did: 26.7 above, at 10 each (office work alone)
    assert rows["bad"]["expected"] == pytest.approx(200 * 70 / 600)
    assert rows["bad"]["excess"] == pytest.approx(50 - 200 * 70 / 600, rel=0.05)
    assert rows["good"]["excess"] < 1
    assert found.halved is not None
    assert found.halved.value == pytest.approx(26.7 * 10 / 2, rel=0.05)
    assert found.halved.low < found.halved.value < found.halved.high  # type: ignore[operator]


def test_short_time_is_not_made_into_a_year() -> None:
    fleet = SmallFleet()
    fleet.call("A", opened="2026-01-01 09:00")
    fleet.call("B", opened="2026-01-09 09:00")
    fleet.ends("2026-06-01")
    assert fleet.build().fleet.costs(Filters()).per_year is None


@pytest.mark.parametrize("by", COSTED_BY)
def test_without_calls_there_is_nothing(by: str) -> None:
    fleet = SmallFleet()
    fleet.ends("2026-06-01")
    found = fleet.build().fleet.costs(Filters(), by=by)
    assert (found.calls, found.returns, found.cost.value) == (0, 0, 0)
    assert found.to_dict()["groups"] == []


def test_no_such_grouping_is_said() -> None:
    with pytest.raises(BadQuestion, match="product_family"):
        example().fleet.costs(Filters(), by="technician")
