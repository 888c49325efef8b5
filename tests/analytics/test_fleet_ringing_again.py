"""Days until they ring again by hand: what ends a wait, how far it was followed, what is not yet known."""

from datetime import date

import pytest

from analytics import queries
from analytics.filters import Filters
from analytics.questions import ringing_again
from tests.analytics.small_fleet import SmallFleet


@pytest.fixture(autouse=True)
def _few_calls_are_enough(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ringing_again, "LEAST_AT_RISK", 1)


def repair(fleet: SmallFleet, call: str, unit: str, day: str, **more: str) -> None:
    fleet.call(call, unit, opened=f"{day} 09:00", closed=f"{day} 12:00", **more)


def four_waits() -> SmallFleet:
    """A comes back after 10 days; B's unit is retired after 5; C is followed for 20 days; D for 100."""
    fleet = SmallFleet()
    repair(fleet, "A", "U1", "2026-01-01", root_cause="filter_restricted")
    fleet.call("A2", "U1", opened="2026-01-11 12:00", outcome="cancelled", root_cause="filter_restricted")
    fleet.unit("U2", retired_on=date(2026, 1, 6))
    repair(fleet, "B", "U2", "2026-01-01", root_cause="valve_seeping")
    repair(fleet, "C", "U3", "2026-03-22", root_cause="valve_seeping")
    repair(fleet, "D", "U4", "2026-01-01", root_cause="valve_seeping")
    fleet.ends("2026-04-11 12:00")
    return fleet.build()


def check_the_curve() -> None:
    whole = four_waits().fleet.ringing_again(Filters()).whole
    assert whole.calls == 4
    # retired at 5 days: 3 of 4 still wait and none came back; at 10 days 1 of those 3 comes back: 3/4 x 1/3
    assert whole.points.select("days", "share", "at_risk").rows() == [(10.0, pytest.approx(0.25), 3)]
    shares = dict(whole.marks.select("days", "share").rows())
    assert shares == {7: 0.0, 30: pytest.approx(0.25), 90: pytest.approx(0.25), 365: None}
    assert dict(whole.marks.select("days", "estimated").rows()) == {7: False, 30: True, 90: True, 365: True}
    assert whole.known_days == 100


def test_the_curve_by_hand() -> None:
    check_the_curve()


@pytest.mark.parametrize(
    ("right", "wrong"),
    [
        ("coalesce(other_days <= followed_days, false) and not happened as competing", "false as competing"),
        ("coalesce(return_days <= followed_days, false) as happened", "false as happened"),
        ("else floor(followed_days * 24)", "else 8760"),  # nobody censored
    ],
)
def test_a_broken_wait_is_caught(monkeypatch: pytest.MonkeyPatch, right: str, wrong: str) -> None:
    original = queries.statement
    assert right in original("metrics/ringing_again")
    monkeypatch.setattr(queries, "statement", lambda name: original(name).replace(right, wrong))
    with pytest.raises(AssertionError):
        check_the_curve()


def test_by_group_with_its_test() -> None:
    found = four_waits().fleet.ringing_again(Filters(), by="cause")
    assert [(curve.group, curve.calls) for curve in found.groups] == [
        ("valve_seeping", 3),
        ("filter_restricted", 1),
    ]
    assert [curve.points.height for curve in found.groups] == [0, 1]
    assert found.test is not None
    assert found.test.degrees == 1
    for by in ("symptom", "part", "technician"):
        assert four_waits().fleet.ringing_again(Filters(), by=by).test is None


def test_as_of_a_day_the_return_has_not_come() -> None:
    whole = four_waits().fleet.ringing_again(Filters(as_of=date(2026, 1, 10))).whole
    assert (whole.calls, whole.points.height) == (3, 0)


def test_a_return_after_half_a_year_is_seen_and_is_no_callback() -> None:
    fleet = SmallFleet()
    repair(fleet, "A", "U1", "2026-01-01")
    repair(fleet, "B", "U1", "2026-07-01")
    fleet.ends("2027-03-01 12:00")
    fleet.build()
    whole = fleet.fleet.ringing_again(Filters()).whole
    assert whole.points["days"].to_list() == [180.875]
    assert fleet.fleet.figures(Filters(window_days=90)).callback_rate.numerator == 0
    assert fleet.fleet.calls(Filters())[0]["days_until_return"].to_list() == [None, None]
    assert fleet.table("from marts.returns").is_empty()


def test_a_later_closing_takes_over() -> None:
    """B was opened before A closed, so it is no return; a return after B's closing is B's."""
    fleet = SmallFleet()
    fleet.call("A", "U1", opened="2026-01-01 09:00", closed="2026-01-03 12:00")
    fleet.call("B", "U1", opened="2026-01-02 09:00", closed="2026-01-08 12:00")
    fleet.call("C", "U1", opened="2026-01-18 12:00", closed=None)
    fleet.ends("2026-04-11 12:00")
    fleet.build()
    taken = dict(fleet.table("select call_id, days_until_taken_over from marts.calls").rows())
    assert taken == {"A": 5.0, "B": None, "C": None}
    whole = fleet.fleet.ringing_again(Filters()).whole
    assert whole.points.select("days", "share").rows() == [(10.0, pytest.approx(0.5))]


def test_of_very_many_groups_only_the_largest_have_a_curve(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ringing_again, "MOST_CURVES", 1)
    found = four_waits().fleet.ringing_again(Filters(), by="cause")
    assert [(curve.group, curve.calls) for curve in found.groups] == [("valve_seeping", 3)]
    assert (found.whole.calls, found.test) == (4, None)
