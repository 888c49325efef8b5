"""The review list by hand: which returns, trips, open calls and repairs are on it, and which are not.

The lists are definitions of our own; each expected row follows from the records written down here.
"""

from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path

import polars as pl
import pytest

from analytics import queries
from analytics.decisions import FILE, Decision
from analytics.errors import BadQuestion, UnknownRecord
from analytics.filters import Filters
from analytics.questions.review import Review, open_by_age, open_of
from tests.analytics.small_fleet import SmallFleet


def week(folder: Path) -> SmallFleet:
    """Records that end on Friday 6 March 2026, with calls on Thursday and Friday."""
    fleet = SmallFleet()
    fleet.folder = folder  # type: ignore[attr-defined]
    fleet.call("C1", "U1", opened="2026-02-20 09:00", root_cause="tube_frozen", technician_id="T9", depot="N")
    fleet.visit("V1", "C1", "2026-02-20 10:00", technician_id="T1")
    fleet.check("seep_test", visit_id="V1", reading=3.0, reading_text="3 drops")
    fleet.part("inlet_valve", visit_id="V1")
    fleet.call("R1", "U1", opened="2026-03-05 09:00", closed=None, depot="N")
    fleet.call("C2", "U2", opened="2026-02-20 09:00")
    fleet.call("R2", "U2", opened="2026-03-04 23:59", closed=None)  # before Thursday

    fleet.call("C3", "U3", opened="2026-02-20 09:00", closed="2026-02-24 12:00", root_cause="tube_frozen")
    fleet.visit("V3", "C3", "2026-02-20 10:00", result="part_on_order")
    fleet.visit("V4", "C3", "2026-02-24 10:00")
    fleet.call("R3", "U3", opened="2026-03-06 09:00", closed=None, root_cause="valve_seeping")
    fleet.call("C4", "U4", opened="2026-02-25 09:00", closed=None)
    for number, on in enumerate(("2026-02-26", "2026-03-02", "2026-03-06")):
        fleet.visit(f"W{number}", "C4", f"{on} 10:00", result="no_access")
    fleet.call("C5", "U5", opened="2026-03-04 09:00", closed="2026-03-06 10:00")  # two visits only
    fleet.visit("X1", "C5", "2026-03-05 10:00")
    fleet.visit("X2", "C5", "2026-03-06 09:30")

    fleet.call("C6", "U6", opened="2026-02-27 09:00", closed=None, depot="S")
    fleet.visit("Y1", "C6", "2026-03-02 10:00", result="part_on_order")
    fleet.call("C7", "U7", opened="2026-03-01 09:00", closed=None, job_kind="install")

    for number, closed in ((9, "2026-03-05 12:00"), (10, "2026-03-05 12:00"), (11, "2026-03-04 08:00")):
        fleet.call(f"C{number}", f"U{number}", opened="2026-03-03 09:00", closed=closed)
        fleet.visit(f"Z{number}", f"C{number}", closed)
    fleet.check("proof_of_repair", "no_fault", visit_id="Z10")
    fleet.check("proof_of_repair", "fault", visit_id="Z11")  # it was tried, and did not work
    fleet.check("seep_test", visit_id="Z9")
    fleet.call("C12", "U12", opened="2026-03-03 09:00", closed="2026-03-04 09:00")
    fleet.follow_up("C12", "2026-03-05", "works")
    fleet.call("C13", "U13", opened="2026-03-02 09:00", closed="2026-03-03 23:00")  # three days old
    fleet.ends("2026-03-06 17:00")
    return fleet.build()


def keys(found: Review, kind: str) -> list[str]:
    return found.lists[kind]["key"].to_list()


def check_lists(folder: Path) -> Review:
    found = week(folder).fleet.this_week(Filters())
    assert (found.since, found.last_day) == (datetime(2026, 3, 5), date(2026, 3, 6))
    assert (found.proof_from, found.proof_to) == (date(2026, 3, 4), date(2026, 3, 5))
    assert keys(found, "return") == ["R3", "R1"]
    assert sorted(keys(found, "third_trip")) == ["C4", "R3"]
    assert dict(found.lists["open_call"].select("key", "waits_for").rows()) == {
        "C4": "no_access", "C6": "part_on_order",
        "R1": "not_visited", "R2": "not_visited", "R3": "not_visited",
    }  # fmt: skip
    assert keys(found, "no_proof") == ["C9", "C11"]
    assert found.repairs == 4
    return found


def test_lists_by_hand(tmp_path: Path) -> None:
    found = check_lists(tmp_path)
    first = found.lists["return"].row(1, named=True)
    assert (first["call_id"], first["technician"], first["parts"]) == ("C1", "T1", ["inlet_valve"])
    assert first["readings"] == ["seep test: 3 drops, no fault"]
    assert first["days_between"] == pytest.approx(12 + 22 / 24)
    string = found.lists["third_trip"].filter(key="R3").row(0, named=True)
    assert (string["trips"], string["calls"]) == (3, 2)
    assert string["causes"] == ["tube_frozen", "valve_seeping"]
    ages = dict(found.lists["open_call"].select("key", "age_days").rows())
    assert (ages["C6"], ages["R3"]) == (7, 0)
    assert not (tmp_path / FILE).exists(), "looking makes no file"


@pytest.fixture
def broken(monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest) -> Iterator[None]:
    statement, right, wrong = request.param
    original = queries.statement
    assert right in original(statement)
    monkeypatch.setattr(
        queries, "statement", lambda n: original(n).replace(right, wrong) if n == statement else original(n)
    )
    queries.parameters.cache_clear()
    yield
    queries.parameters.cache_clear()


@pytest.mark.usefixtures("broken")
@pytest.mark.parametrize(
    "broken",
    [
        ("review/until", "isodow(opened_at) <= 5", "isodow(opened_at) <= 4"),
        ("review/returns", "between $since::timestamp and $until::timestamp", "<= $until::timestamp"),
        ("review/third_trips", "where summed.trips >= 3", "where summed.trips >= 2"),
        ("review/third_trips", "greatest(made.visits, 1)", "made.visits"),
        ("review/open_calls", "latest.waits_for_part or", "false or"),
        ("review/open_calls", "calls.standing <> 'not_a_repair'", "true"),
        ("review/no_proof", "coalesce(findings.codes[1] <> 'fault', true)", "true"),
        ("review/no_proof", "list_contains($proof_checks::varchar[], check_codes.codes[1])", "true"),
        ("review/no_proof", "and closed_at < $closed_before::timestamp", ""),
        ("review/no_proof", "not coalesce(fresh.follow_up = 'works'", "not coalesce(fresh.follow_up = 'no'"),
    ],
    indirect=True,
    ids=str,
)
def test_broken_list_is_caught(tmp_path: Path) -> None:
    with pytest.raises((AssertionError, KeyError)):
        check_lists(tmp_path)


def test_looking_back_shows_what_was_open_then(tmp_path: Path) -> None:
    found = week(tmp_path).fleet.this_week(Filters(as_of=date(2026, 3, 4)))
    assert keys(found, "return") == ["R2"]
    assert "C9" in keys(found, "open_call"), "closed on the day after"
    assert "R1" not in keys(found, "open_call"), "not opened yet"
    assert found.lists["open_call"].filter(key="C6")["age_days"].item() == 5


def test_depots_narrow_the_lists(tmp_path: Path) -> None:
    found = week(tmp_path).fleet.this_week(Filters(depots=("N",)))
    assert (keys(found, "return"), keys(found, "open_call")) == (["R1"], ["R1"])


def test_open_calls_add_up(tmp_path: Path) -> None:
    calls = week(tmp_path).fleet.this_week(Filters()).lists["open_call"]
    counts = open_by_age(calls)
    assert (
        counts["calls"].sum()
        == calls.height
        == counts.select("0", "3", "8", "15", "31").sum().sum_horizontal().item()
    )
    assert counts["waits_for"].to_list() == ["part_on_order", "no_access", "not_visited"]
    for row in counts.iter_rows(named=True):
        for band in ("0", "3", "8", "15", "31"):
            assert open_of(calls, row["waits_for"], band).height == row[band]
    assert open_of(calls, "", "").height == calls.height


def test_nothing_loaded_is_no_list(tmp_path: Path) -> None:
    fleet = SmallFleet()
    fleet.folder = tmp_path  # type: ignore[attr-defined]
    assert fleet.build().fleet.this_week(Filters()).until is None


def sort_all(fleet: SmallFleet) -> None:
    fleet.fleet.decide([Decision("sorted", "return", each, "new_fault") for each in ("R1", "R3")])


def test_sorting_changes_no_rate(tmp_path: Path) -> None:
    """A return sorted as a new fault is a callback all the same."""
    fleet = week(tmp_path)
    before = [fleet.fleet.figures(Filters(window)).to_dict() for window in (7, 14, 30)]
    listed = fleet.fleet.this_week(Filters()).lists["return"].height
    sort_all(fleet)
    assert [fleet.fleet.figures(Filters(window)).to_dict() for window in (7, 14, 30)] == before
    after = fleet.fleet.this_week(Filters()).lists["return"]
    assert (after.height, after["sorted"].to_list()) == (listed, ["new_fault"] * 2)
    rate = fleet.fleet.figures(Filters(7)).callback_rate
    assert rate.denominator > 0, "a rate of nothing could not have changed"


def test_marks_are_joined_and_sink_to_the_end(tmp_path: Path) -> None:
    fleet = week(tmp_path)
    fleet.fleet.decide([Decision("reviewed", "return", "R3", "yes", "rang them", "Ann")])
    fleet.fleet.decide([Decision("remark", "return", "R1", "=the valve was new", "", "T1")])
    rows = fleet.fleet.this_week(Filters()).lists["return"]
    assert rows["key"].to_list() == ["R1", "R3"]
    assert rows.select("note", "reviewed_by", "remark").rows() == [
        (None, None, "=the valve was new"), ("rang them", "Ann", None),
    ]  # fmt: skip
    returns = fleet.fleet.with_remarks(pl.DataFrame({"return_call_id": ["R1", "R9"]}))
    assert returns["remark"].to_list() == ["=the valve was new", None]
    fleet.fleet.decide([Decision("reviewed", "return", "R3", "")])
    assert fleet.fleet.this_week(Filters()).lists["return"]["reviewed_at"].null_count() == 2


@pytest.mark.parametrize(
    ("decision", "error"),
    [
        (("reviewed", "return", "NO", "yes"), UnknownRecord),
        (("reviewed", "group", "depot:NOWHERE:2026-W09", "yes"), UnknownRecord),
        (("reviewed", "group", "symptom:no_ice:2026-W09", "yes"), UnknownRecord),
        (("sorted", "return", "R1", "his_fault"), BadQuestion),
        (("sorted", "open_call", "R1", "use"), BadQuestion),
        (("remark", "no_proof", "C9", "words"), BadQuestion),
    ],
)
def test_what_is_not_known_is_refused(tmp_path: Path, decision: tuple[str, ...], error: type) -> None:
    fleet = week(tmp_path)
    with pytest.raises(error):
        fleet.fleet.decide([Decision("reviewed", "return", "R1", "yes"), Decision(*decision)])
    assert not (tmp_path / FILE).exists(), "all or nothing"


def test_a_group_is_marked_for_its_week(tmp_path: Path) -> None:
    fleet = week(tmp_path)
    fleet.fleet.decide([Decision("reviewed", "group", "depot:N:2026-W09", "yes")])
    assert (tmp_path / FILE).exists()
