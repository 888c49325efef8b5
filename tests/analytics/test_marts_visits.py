"""Visits by hand: overlaps, helpers, nobody home, and whose the repair is."""

import pytest

from tests.analytics.small_fleet import SmallFleet


def visits_of(*visits: dict) -> SmallFleet:
    fleet = SmallFleet()
    fleet.call("A", closed="2026-03-09 12:00", technician_id="office")
    for number, visit in enumerate(visits, start=1):
        fleet.visit(f"V{number}", "A", **visit)
    return fleet.build()


@pytest.mark.parametrize(
    ("second", "visits"),
    [
        ({"arrived": "2026-03-01 10:30", "left": "2026-03-01 11:30"}, 1),  # overlaps
        ({"arrived": "2026-03-01 10:30", "left": None}, 1),  # arrives while the first is there
        ({"arrived": "2026-03-01 10:00", "left": None}, 1),  # the same minute
        ({"arrived": "2026-03-01 11:00", "left": "2026-03-01 12:00"}, 2),  # as the first leaves
        ({"arrived": "2026-03-01 11:30", "left": None}, 2),
        ({"arrived": "2026-03-01", "left": None}, 2),  # no time of day: overlaps nothing
    ],
)
def test_records_that_overlap_are_one_visit(second: dict, visits: int) -> None:
    fleet = visits_of({"arrived": "2026-03-01 10:00", "left": "2026-03-01 11:00"}, second)
    assert fleet.row("A")["visits"] == visits


def test_chain_of_overlaps_is_one_visit_with_helpers() -> None:
    fleet = visits_of(
        {
            "arrived": "2026-03-01 10:00",
            "left": "2026-03-01 12:00",
            "technician_id": "ann",
            "helper_id": "cy",
        },
        {"arrived": "2026-03-01 10:30", "left": "2026-03-01 10:45", "technician_id": "bob"},
        {"arrived": "2026-03-01 11:30", "left": "2026-03-01 13:00", "technician_id": "bob"},
        {"arrived": "2026-03-01 12:30", "left": "2026-03-01 12:40", "technician_id": "dee"},
    )
    (visit,) = fleet.table("from marts.visits").to_dicts()
    assert (visit["technician"], visit["records"], str(visit["left_at"])) == ("ann", 4, "2026-03-01 13:00:00")
    assert sorted(visit["helpers"].split(", ")) == ["bob", "cy", "dee"]


def test_visits_of_other_calls_do_not_merge() -> None:
    fleet = SmallFleet()
    fleet.call("A")
    fleet.call("B", unit_id="U2")
    for call in "AB":
        fleet.visit(f"V{call}", call, arrived="2026-03-01 10:00", left="2026-03-01 11:00")
    fleet.build()
    assert [fleet.row(call)["visits"] for call in "AB"] == [1, 1]


def test_visit_of_an_unknown_call_is_left_out() -> None:
    fleet = SmallFleet()
    fleet.call("A")
    fleet.visit("V1", "elsewhere")
    assert fleet.build().table("from marts.visits").is_empty()


def test_repair_belongs_to_the_last_visit_with_work_done_and_diagnosis_to_the_first_let_in() -> None:
    fleet = visits_of(
        {"arrived": "2026-03-01 10:00", "result": "no_access", "technician_id": "ann"},
        {"arrived": "2026-03-02 10:00", "result": "part_on_order", "technician_id": "bob"},
        {"arrived": "2026-03-03 10:00", "result": "done", "technician_id": "cy"},
        {"arrived": "2026-03-04 10:00", "result": "no_access", "technician_id": "dee"},
    )
    row = fleet.row("A")
    assert (row["technician"], row["diagnosis_technician"]) == ("cy", "bob")
    assert (row["visits"], row["no_access_visits"], row["waited_for_part"]) == (4, 2, True)


def test_result_not_recorded_counts_as_work_done() -> None:
    fleet = visits_of({"result": None, "technician_id": "ann"})
    assert fleet.row("A")["technician"] == "ann"
    assert fleet.row("A")["no_access_visits"] == 0


@pytest.mark.parametrize(
    "visits", [[], [{"result": "no_access", "technician_id": "ann"}], [{"result": "done"}]]
)
def test_technician_of_the_call_stands_in(visits: list[dict]) -> None:
    assert visits_of(*visits).row("A")["technician"] == "office"


@pytest.mark.parametrize(
    ("closed", "late"),
    [("2026-03-01 12:00", 1), ("2026-03-02 10:00", 0), ("2026-03-01", 1), ("2026-03-02", 0)],
)
def test_visits_after_closing(closed: str, late: int) -> None:
    fleet = SmallFleet()
    fleet.call("A", opened="2026-02-20 08:00", closed=closed)
    fleet.visit("V1", "A", arrived="2026-02-28 10:00")
    fleet.visit("V2", "A", arrived="2026-03-02 10:00")
    assert fleet.build().row("A")["visits_after_closing"] == late


def test_closing_by_paperwork_hides_returns_opened_in_between() -> None:
    fleet = SmallFleet()
    fleet.call("A", opened="2026-03-01 09:00", closed="2026-03-09 12:00")
    fleet.visit("V1", "A", arrived="2026-03-01 10:00", left="2026-03-01 12:00")
    fleet.call("B", opened="2026-03-04 09:00", closed="2026-03-20 09:00")  # same family, in between
    fleet.call("C", opened="2026-03-05 09:00", closed="2026-03-20 09:00", complaint="leak_floor")
    fleet.call("D", opened="2026-03-01 11:00", closed="2026-03-20 09:00")  # before the visit ended
    row = fleet.build().row("A")
    assert row["closing_lag_days"] == 8
    assert row["returns_before_closing"] == 1
    assert fleet.charged() == set()
