"""Loads, rows set aside, texts not recognised, and what the filters can be set to."""

from datetime import date, datetime

import pytest

from analytics.errors import BadQuestion
from tests.analytics.small_fleet import SmallFleet


def test_unrecognised_texts_are_counted_most_frequent_first() -> None:
    fleet = SmallFleet()
    for number, complaint in enumerate(["? a", "? b", "? b", "no_ice", None]):
        fleet.call(f"C{number}", complaint=complaint, root_cause="? b", first_diagnosis="? b")
    fleet.withdraw("calls", call_id="C0")
    fleet.build()
    rows, total = fleet.fleet.unrecognised()
    assert rows.rows() == [("root_cause", "? b", 8), ("complaint", "? b", 2)]
    assert total == 2
    assert fleet.fleet.unrecognised("complaint")[0].rows() == [("complaint", "? b", 2)]
    assert fleet.fleet.unrecognised(limit=1, offset=1)[0].rows() == [("complaint", "? b", 2)]


def test_complaints_of_other_jobs_and_of_return_trips_wait_for_nobody() -> None:
    fleet = SmallFleet()
    fleet.call("A", complaint="? hook up", job_kind="install")
    fleet.call("B", "U2", opened="2026-03-01 09:00", closed="2026-03-01 12:00", outcome="part_on_order")
    fleet.call("C", "U2", complaint="? part is in", opened="2026-03-05 09:00", closed="2026-03-05 10:00")
    fleet.call("D", "U3", complaint="? part is in")
    assert fleet.build().fleet.unrecognised("complaint")[0].rows() == [("complaint", "? part is in", 1)]


def test_choices_count_a_call_under_each_symptom_and_part() -> None:
    fleet = SmallFleet()
    fleet.call("A", complaint="no_ice+leak_floor", depot="north", technician_id="ann")
    fleet.part("inlet_valve", call_id="A")
    fleet.part("module", call_id="A")
    fleet.call("B", complaint="little_ice", opened="2026-03-04 09:00")
    choices = fleet.build().fleet.choices()
    assert choices["families"].rows() == [("ice_making", "ice making", 2), ("leak", "leak", 1)]
    assert choices["parts"].rows() == [("inlet_valve", "inlet valve", 1), ("module", "module", 1)]
    assert choices["depots"].rows() == [("north", "north", 1)]
    assert choices["causes"].is_empty()
    assert choices["closed"].rows() == [(date(2026, 3, 1), date(2026, 3, 4))]


def test_labels() -> None:
    fleet = SmallFleet().build().fleet
    assert fleet.labels("families") == {
        "ice_making": "ice making",
        "water_at_door": "water at the door",
        "leak": "leak",
    }
    assert fleet.labels("finding") == {"fault": "fault", "no_fault": "no fault"}
    assert fleet.labels("nothing of the kind") == {}


def test_recording_by_something_else() -> None:
    with pytest.raises(BadQuestion, match="depot, technician"):
        SmallFleet().build().fleet.recording("colour")


def test_loads_files_and_rows_set_aside() -> None:
    fleet = SmallFleet()
    fleet.ends("2026-06-01")
    fleet.connection.execute(
        "update loads.files set rows = 10, loaded = 6, repeated_exact = 1, set_aside = 3"
    )
    fleet.connection.execute(
        "insert into loads.loads values (1, '2026-06-01 08:00', '2026-06-01 08:01', 'test')"
    )
    for line, rank in ((2, 1), (2, 2), (5, 1), (9, 1)):
        fleet.connection.execute(
            "insert into loads.set_aside values (1, ?, ?, 'too_old', 'opened_at', '1899-01-01', ['a', 'b'])",
            [line, rank],
        )
    fleet.build()
    (load,) = fleet.fleet.loads().to_dicts()
    assert (load["files"], load["rows"], load["loaded"], load["repeated"]) == (1, 10, 6, 1)
    assert load["started_at"] == datetime(2026, 6, 1, 8)
    assert fleet.fleet.files(1).height == 1
    assert fleet.fleet.files(2).is_empty()
    assert "mapping" not in fleet.fleet.files().columns
    rows, total = fleet.fleet.set_aside(1)
    assert total == 3
    assert rows["line"].to_list() == [2, 5, 9]
    assert fleet.fleet.set_aside(offset=1, limit=1)[0]["line"].to_list() == [5]
    assert fleet.fleet.set_aside(2)[1] == 0


def test_before_the_first_load_there_is_no_generation() -> None:
    assert SmallFleet().fleet.generation() == {}
