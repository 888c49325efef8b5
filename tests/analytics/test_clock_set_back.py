"""A clock set back: a load says so instead of taking the new for old; decisions go by their order alone."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from analytics.decisions import Decision, Decisions
from analytics.errors import StoreProblem
from analytics.intake import clock, loading
from analytics.intake.loading import load_files
from analytics.intake.report import FileReport
from analytics.store import Store

NOON = datetime(2026, 6, 10, 12)


@pytest.fixture
def load(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """Load one row under a clock that shows what the test says."""

    def at(moment: datetime, notes: str) -> FileReport:
        path = tmp_path / f"{notes}.csv"
        path.write_text(f"call_id,unit_id,opened_at,complaint,notes\n1,U1,2026-06-09 09:00,no ice,{notes}\n")
        monkeypatch.setattr(loading, "_now", lambda: moment)
        return load_files(Store(tmp_path / "store"), [path], today=NOON.date()).files[0]

    return at


def notes(folder: Path) -> str:
    return Store(folder).reader().cursor().execute("select notes from records.calls").fetchone()[0]


@pytest.mark.parametrize("back", [timedelta(hours=3), timedelta(days=1), timedelta(days=4000)])
def test_a_load_under_a_clock_set_back_is_refused(load, tmp_path: Path, back: timedelta) -> None:
    load(NOON, "first")
    with pytest.raises(StoreProblem, match=r"By the clock.*Nothing was changed\. Set the clock right"):
        load(NOON - back, "second")
    assert Store(tmp_path / "store").current().number == 1
    assert notes(tmp_path / "store") == "first"
    load(NOON + timedelta(hours=1), "second")  # set right
    assert Store(tmp_path / "store").current().number == 2


@pytest.mark.parametrize("back", [timedelta(0), timedelta(hours=1)])
def test_the_repeated_hour_of_autumn_is_no_clock_set_back(load, tmp_path: Path, back: timedelta) -> None:
    load(NOON, "first")
    load(NOON - back, "second")
    assert Store(tmp_path / "store").current().number == 2


def test_the_way_out_after_a_clock_that_was_ahead(load, tmp_path: Path) -> None:
    load(NOON, "first")
    load(NOON + timedelta(days=400), "ahead")
    with pytest.raises(StoreProblem, match="go-back"):
        load(NOON + timedelta(days=1), "second")
    Store(tmp_path / "store").go_back()
    load(NOON + timedelta(days=1), "second")


def test_without_the_check_a_new_row_is_taken_for_an_old_one(
    load, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The twin: this is what the refusal saves from."""
    monkeypatch.setattr(clock, "check", lambda *_: None)
    load(NOON, "first")
    report = load(NOON - timedelta(days=4000), "second")
    assert (report.updated, report.repeated_older) == (0, 1)
    assert notes(tmp_path / "store") == "first"


def test_the_latest_decision_counts_whatever_the_clock_shows(tmp_path: Path) -> None:
    for moment, value in ((NOON, "use"), (NOON - timedelta(days=900), "install")):
        made = Decision("sorted", "return", "C1", value)
        Decisions(tmp_path, now=lambda moment=moment: moment.replace(tzinfo=UTC)).add([made])
    assert Decisions(tmp_path).current("return", ["C1"])["value"].to_list() == ["install"]
