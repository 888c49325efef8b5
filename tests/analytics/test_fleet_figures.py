"""The headline figures by hand: who is judged, who is too young, what is left out, looking back at a date."""

from datetime import date

import pytest

from analytics import queries
from analytics.filters import Filters
from tests.analytics.small_fleet import SmallFleet


def four_calls() -> SmallFleet:
    """A came back after 10 days, B did not, C is too young though it came back, D is too young."""
    fleet = SmallFleet()
    fleet.call("A", "U1", opened="2026-01-01 09:00", closed="2026-01-01 12:00", depot="south")
    fleet.call("A2", "U1", opened="2026-01-11 09:00", outcome="cancelled", depot="south")
    fleet.call("B", "U2", opened="2026-01-05 09:00", closed="2026-01-05 12:00", depot="south")
    fleet.call("C", "U3", opened="2026-03-01 09:00", closed="2026-03-01 12:00", depot="south")
    fleet.call("C2", "U3", opened="2026-03-03 09:00", closed=None, depot="south")
    fleet.call("D", "U4", opened="2026-03-02 09:00", closed="2026-03-02 12:00", depot="north")
    fleet.ends("2026-03-05 12:00")
    return fleet.build()


def check_too_young() -> None:
    rate = four_calls().fleet.figures(Filters()).callback_rate
    assert (rate.numerator, rate.denominator, rate.inside_window) == (1, 2, 2)
    assert rate.left_out == {"cancelled": 1, "open": 1}
    assert rate.rate == 0.5


def test_calls_too_young_are_left_out_of_both_whether_or_not_they_came_back() -> None:
    check_too_young()


@pytest.mark.parametrize(
    ("right", "wrong"),
    [
        ("completed and window_passed as judged", "completed as judged"),  # no maturity rule
        ("completed and not window_passed as young", "false as young"),
    ],
)
def test_broken_maturity_is_caught(monkeypatch: pytest.MonkeyPatch, right: str, wrong: str) -> None:
    original = queries.statement
    assert right in original("schema/selection")
    monkeypatch.setattr(queries, "statement", lambda name: original(name).replace(right, wrong))
    with pytest.raises(AssertionError):
        check_too_young()


@pytest.mark.parametrize(("ends", "judged"), [("2026-01-31 12:00", 1), ("2026-01-31 11:59", 0)])
def test_window_has_passed_when_closing_plus_window_is_at_the_end(ends: str, judged: int) -> None:
    fleet = SmallFleet()
    fleet.call("A", opened="2026-01-01 09:00", closed="2026-01-01 12:00")
    fleet.ends(ends)
    assert fleet.build().fleet.figures(Filters()).callback_rate.denominator == judged


def test_every_call_is_judged_young_or_left_out() -> None:
    fleet = four_calls()
    fleet.call("I", "U5", job_kind="install")
    fleet.call("P", "U6", outcome="part_on_order")
    fleet.build()
    found = fleet.fleet.figures(Filters())
    rate = found.callback_rate
    assert rate.denominator + rate.inside_window + sum(rate.left_out.values()) == found.counts["calls"] == 8


class TestAsOf:
    def test_calls_closed_later_are_open_and_calls_opened_later_are_not_there(self) -> None:
        fleet = four_calls()
        found = fleet.fleet.figures(Filters(as_of=date(2026, 2, 4)))
        assert (found.callback_rate.numerator, found.callback_rate.denominator) == (1, 2)
        assert found.counts["calls"] == 3
        fleet.call("L", "U9", opened="2026-01-02 09:00", closed="2026-02-10 09:00")
        found = fleet.build().fleet.figures(Filters(as_of=date(2026, 2, 4)))
        assert found.callback_rate.left_out == {"cancelled": 1, "open": 1}

    @pytest.mark.parametrize(("as_of", "judged"), [(date(2026, 1, 30), 0), (date(2026, 1, 31), 1)])
    def test_goes_to_the_end_of_the_day(self, as_of: date, judged: int) -> None:
        assert four_calls().fleet.figures(Filters(as_of=as_of)).callback_rate.denominator == judged

    def test_never_goes_beyond_the_end_of_observation(self) -> None:
        assert (
            four_calls().fleet.figures(Filters(as_of=date(2027, 1, 1))).callback_rate
            == four_calls().fleet.figures(Filters()).callback_rate
        )

    def test_judged_calls_keep_their_answer(self) -> None:
        """Whatever the date looked at, a call once judged has come back or has not, for good."""
        fleet = four_calls()
        answers: dict[str, bool] = {}
        for day in range(1, 29):
            for month in (1, 2, 3):
                rows, _ = fleet.fleet.calls(Filters(as_of=date(2026, month, day)), "judged")
                for call_id, came_back in rows.select("call_id", "came_back").iter_rows():
                    assert answers.setdefault(call_id, came_back) == came_back
        assert answers == {"A": True, "B": False}


def test_family_and_any_stand_side_by_side() -> None:
    fleet = SmallFleet()
    fleet.call("A", opened="2026-01-01 09:00")
    fleet.call("B", opened="2026-01-05 09:00", complaint="leak_floor")
    fleet.ends("2026-06-01")
    fleet.build()
    for match in ("family", "any"):
        found = fleet.fleet.figures(Filters(match=match))
        assert found.callback_rate_family.numerator == 0
        assert found.callback_rate_any.numerator == 1
        assert found.callback_rate.numerator == (1 if match == "any" else 0)


def chosen(fleet: SmallFleet, **filters: object) -> set[str]:
    return set(fleet.fleet.calls(Filters(**filters), "all")[0]["call_id"])


@pytest.mark.parametrize(
    ("filters", "calls"),
    [
        ({}, {"A", "A2", "B", "C", "C2", "D"}),
        ({"depots": ("north",)}, {"D"}),
        ({"depots": ("north", "south")}, {"A", "A2", "B", "C", "C2", "D"}),
        ({"depots": ("nowhere",)}, set()),
        ({"families": ("leak",)}, set()),
        ({"families": ("ice_making",)}, {"A", "A2", "B", "C", "C2", "D"}),
        ({"symptoms": ("no_ice", "leak_floor")}, {"A", "A2", "B", "C", "C2", "D"}),
        ({"parts": ("module",)}, set()),
        ({"parts": ("",)}, {"A", "A2", "B", "C", "C2", "D"}),  # "": none, blank or not recognised
        ({"causes": ("",)}, {"A", "A2", "B", "C", "C2", "D"}),
        ({"depots": ("", "north")}, {"D"}),
        ({"symptoms": ("",)}, set()),
        ({"closed_from": date(2026, 3, 1), "closed_to": date(2026, 3, 1)}, {"C"}),
        ({"closed_to": date(2026, 1, 5)}, {"A", "B"}),
        ({"as_of": date(2026, 1, 10)}, {"A", "B"}),
    ],
)
def test_filters_choose_calls(filters: dict, calls: set[str]) -> None:
    assert chosen(four_calls(), **filters) == calls


def test_empty_fleet() -> None:
    fleet = SmallFleet().build()
    found = fleet.fleet.figures(Filters(), by="depot")
    assert found.callback_rate.rate is None
    assert found.callback_rate.low is None
    assert found.groups == []
    assert fleet.fleet.by_month(Filters()).is_empty()
    assert fleet.fleet.calls(Filters())[1] == 0


def test_retired_units_stay_and_are_counted() -> None:
    fleet = SmallFleet()
    for number, retired in enumerate(["2026-01-20", "2026-02-05", "2025-12-01", None]):
        fleet.unit(f"U{number}", retired_on=retired)
        fleet.call(f"C{number}", f"U{number}", opened="2026-01-01 09:00")
    fleet.ends("2026-06-01")
    found = fleet.build().fleet.figures(Filters())
    assert found.callback_rate.denominator == 4
    assert found.counts["retired_inside_window"] == 1


def test_installs_followed_by_a_repair_stand_on_their_own_line() -> None:
    fleet = SmallFleet()
    fleet.call("I1", "U1", opened="2026-01-01 09:00", job_kind="install", complaint=None)
    fleet.call("R1", "U1", opened="2026-01-09 09:00", closed=None)
    fleet.call("I2", "U2", opened="2026-01-01 09:00", job_kind="install", complaint=None)
    fleet.call("I3", "U3", opened="2026-01-01 09:00", job_kind="install", outcome="cancelled")
    fleet.ends("2026-06-01")
    found = fleet.build().fleet.figures(Filters())
    assert (found.counts["install_returns"], found.counts["installs_judged"]) == (1, 2)
    assert found.callback_rate.denominator == 0


class TestByMonth:
    def test_limits_and_young_months(self) -> None:
        months = four_calls().fleet.by_month(Filters())
        assert months["month"].to_list() == [date(2026, 1, 1), date(2026, 3, 1)]
        january, march = months.to_dicts()
        assert (january["numerator"], january["denominator"], january["mean"]) == (1, 2, 0.5)
        assert (january["limit_low"], january["limit_high"], january["outside"]) == (0.0, 1.0, False)
        assert (march["denominator"], march["inside_window"], march["rate"]) == (0, 2, None)
        assert (march["low"], march["limit_low"], march["outside"]) == (None, None, None)
