"""Warnings by hand: each says its numbers, and the subset behind it holds as many calls."""

import pytest

from analytics.filters import Filters
from tests.analytics.small_fleet import SmallFleet


def said(fleet: SmallFleet, code: str, by: str | None = None) -> list:
    fleet.ends("2026-06-01")
    fleet.build()
    return [warning for warning in fleet.fleet.figures(Filters(), by).warnings if warning.code == code]


def test_a_clean_fleet_has_none() -> None:
    fleet = SmallFleet()
    fleet.call("A", opened="2026-01-01 09:00")
    fleet.visit("V1", "A", arrived="2026-01-01 10:00", left="2026-01-01 11:00")
    fleet.ends("2026-06-01")
    assert fleet.build().fleet.figures(Filters()).warnings == []


def test_dates_without_times() -> None:
    fleet = SmallFleet()
    fleet.call("A", opened="2026-01-01", closed="2026-01-05")
    fleet.call("B", opened="2026-01-05 09:00")
    (warning,) = said(fleet, "dates_without_times")
    assert warning.numbers == {"without_times": 1, "completed": 2, "same_day_pairs": 1}
    assert "1 pairs of calls fall on the day of closing" in warning.sentence
    assert fleet.fleet.calls(Filters(), warning.subset)[0]["call_id"].to_list() == ["A"]


def test_closed_by_paperwork() -> None:
    fleet = SmallFleet()
    for number in range(3):
        fleet.call(
            f"C{number}", f"U{number}", opened="2026-01-01 09:00", closed=f"2026-01-0{4 + number} 10:00"
        )
        fleet.visit(f"V{number}", f"C{number}", arrived="2026-01-02 10:00")
    fleet.call("R", "U0", opened="2026-01-03 09:00")
    (warning,) = said(fleet, "closed_by_paperwork")
    assert warning.numbers == {"median_lag_days": 3.0, "closed_late": 3, "returns_before_closing": 1}
    assert fleet.fleet.calls(Filters(), warning.subset)[0]["call_id"].to_list() == ["C0"]


def test_visits_after_closing() -> None:
    fleet = SmallFleet()
    fleet.call("A", opened="2026-01-01 09:00")
    for day in (1, 3, 4):
        fleet.visit(f"V{day}", "A", arrived=f"2026-01-0{day} 10:00")
    (warning,) = said(fleet, "visits_after_closing")
    assert warning.numbers == {"visited_after_closing": 1, "visits_after_closing": 2}
    assert fleet.fleet.calls(Filters(), warning.subset)[1] == 1


def test_office_flag_differs() -> None:
    fleet = SmallFleet()
    fleet.call("A", opened="2026-01-01 09:00", callback_flag="no")
    fleet.call("B", opened="2026-01-05 09:00", callback_flag="yes")  # both
    fleet.call("C", opened="2026-01-09 09:00")  # ours only
    fleet.call("D", "U2", callback_flag="yes")  # theirs only
    (warning,) = said(fleet, "office_flag_differs")
    assert warning.numbers == {"flagged_both": 1, "flagged_by_office_only": 1, "flagged_by_us_only": 1}
    assert fleet.fleet.calls(Filters(), warning.subset)[0]["call_id"].to_list() == ["D"]


def test_without_any_flag_nothing_is_compared() -> None:
    fleet = SmallFleet()
    fleet.call("A", opened="2026-01-01 09:00")
    fleet.call("B", opened="2026-01-05 09:00")
    assert said(fleet, "office_flag_differs") == []


@pytest.mark.parametrize(
    ("part", "complaint", "opened", "leaks"),
    [
        ("inlet_valve", "no_ice", "2026-01-20 09:00", 1),
        ("module", "no_ice", "2026-01-20 09:00", 0),  # no water part
        ("inlet_valve", "leak_floor", "2026-01-20 09:00", 0),  # a leak was complained of before
        ("inlet_valve", "no_ice", "2026-02-20 09:00", 0),  # after the window
    ],
)
def test_leak_after_our_work(part: str, complaint: str, opened: str, leaks: int) -> None:
    fleet = SmallFleet()
    fleet.call("A", opened="2026-01-01 09:00", complaint=complaint)
    fleet.part(part, call_id="A")
    fleet.call("B", opened=opened, complaint="leak_floor")
    found = said(fleet, "leak_after_our_work")
    assert [warning.numbers["leaks_after_our_work"] for warning in found] == [1] * leaks
    assert fleet.fleet.calls(Filters(), "leak_after_our_work")[1] == leaks


class TestRecordingDiffers:
    def fleet(self, recorded_in_south: int) -> SmallFleet:
        fleet = SmallFleet()
        for depot, recorded in (("north", 20), ("south", recorded_in_south)):
            for number in range(20):
                cause = "valve_seeping" if number < recorded else None
                fleet.call(f"{depot}{number}", f"{depot}{number}", depot=depot, root_cause=cause)
        return fleet

    def test_by_more_than_ten_points(self) -> None:
        (warning,) = said(self.fleet(17), "recording_differs", "depot")
        assert warning.numbers["recorded"] == "cause"
        assert (warning.numbers["lowest"], warning.numbers["lowest_share"]) == ("south", 0.85)

    def test_ten_points_are_not_more(self) -> None:
        assert said(self.fleet(18), "recording_differs", "depot") == []

    def test_only_between_those_compared(self) -> None:
        assert said(self.fleet(10), "recording_differs") == []
        assert said(self.fleet(10), "recording_differs", "part") == []

    def test_shares(self) -> None:
        fleet = self.fleet(15)
        fleet.build()
        rows = {row["group"]: row for row in fleet.fleet.recording("depot").to_dicts()}
        assert (rows["south"]["cause_calls"], rows["south"]["calls"]) == (15, 20)
        assert rows["north"]["outcome_share"] == 1.0
        assert rows["north"]["check_share"] == 0.0
