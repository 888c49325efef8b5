"""Return trips by hand: a call opened to finish one that waited for a part is never a callback."""

import pytest

from tests.analytics.small_fleet import SmallFleet


def trips(*later: dict) -> SmallFleet:
    fleet = SmallFleet()
    fleet.call("A", opened="2026-03-01 09:00", outcome="repaired")
    fleet.call("P", opened="2026-03-10 09:00", closed="2026-03-10 12:00", outcome="part_on_order")
    for call in later:
        fleet.call(**call)
    return fleet.build()


def test_first_later_call_of_the_family_is_the_return_trip() -> None:
    fleet = trips(
        {"call_id": "T", "opened": "2026-03-12 09:00"},
        {"call_id": "J", "opened": "2026-03-14 09:00"},
    )
    assert [fleet.row(call)["is_return_trip"] for call in "APTJ"] == [False, False, True, False]
    assert fleet.row("T")["return_trip_of"] == "P"
    assert fleet.charged() == {("A", "P"), ("T", "J")}  # T itself is completed, and may come back


@pytest.mark.parametrize(
    ("call", "is_trip"),
    [
        ({"opened": "2026-06-08 09:00"}, True),  # exactly 90 days after P was opened
        ({"opened": "2026-06-08 09:01"}, False),
        ({"opened": "2026-03-10 09:00"}, True),  # opened with P: the larger call_id comes later
        ({"opened": "2026-03-10 08:59"}, False),
        ({"opened": "2026-03-12 09:00", "complaint": "leak_floor"}, False),
        ({"opened": "2026-03-12 09:00", "complaint": "leak_floor, RTN with part"}, True),  # says so
        ({"opened": "2026-03-12 09:00", "complaint": "return trip"}, True),
        ({"opened": "2026-03-12 09:00", "complaint": "Part arrived, please schedule"}, True),
        ({"opened": "2026-03-12 09:00", "complaint": "return to fit part"}, True),
        ({"opened": "2026-03-12 09:00", "complaint": "? party in the garden"}, False),
        ({"opened": "2026-03-12 09:00", "job_kind": "maintenance"}, False),
        ({"opened": "2026-03-12 09:00", "unit_id": "U2"}, False),
        ({"opened": "2026-03-12 09:00", "outcome": "cancelled"}, True),
    ],
)
def test_what_is_a_return_trip(call: dict, is_trip: bool) -> None:
    fleet = trips({"call_id": "T"} | call)
    assert fleet.row("T")["is_return_trip"] == is_trip


def test_a_call_of_another_family_in_between_does_not_hide_the_return_trip() -> None:
    fleet = trips(
        {"call_id": "L", "opened": "2026-03-11 09:00", "complaint": "leak_floor"},
        {"call_id": "T", "opened": "2026-03-12 09:00"},
    )
    assert [fleet.row(call)["is_return_trip"] for call in "LT"] == [False, True]


def test_a_return_trip_that_waits_again_has_its_own() -> None:
    fleet = trips(
        {"call_id": "Q", "opened": "2026-03-12 09:00", "outcome": "part_on_order"},
        {"call_id": "T", "opened": "2026-03-14 09:00"},
    )
    assert [fleet.row(call)["return_trip_of"] for call in "QT"] == ["P", "Q"]
    assert fleet.charged() == {("A", "P")}


def test_a_return_trip_without_a_symptom_is_about_the_trouble_of_the_call_it_finishes() -> None:
    fleet = trips(
        {"call_id": "T", "opened": "2026-03-12 09:00", "complaint": "part is in"},
        {"call_id": "J", "opened": "2026-03-14 09:00", "complaint": "little_ice"},
    )
    assert fleet.charged() == {("A", "P"), ("T", "J")}
    assert fleet.row("T")["family_bits"] == fleet.row("P")["family_bits"]
