"""Loading clean files: every row is accounted for, and loading again changes nothing."""

from datetime import datetime
from pathlib import Path

import pytest

from analytics.intake import loading
from analytics.intake.loading import load_files
from analytics.store import Store

CALLS = """call_id,unit_id,opened_at,closed_at,complaint,root_cause
C1,U1,2026-03-01 08:00,2026-03-01 11:30,no ice,inlet_valve_seeping
C2,U1,2026-03-05 09:15,,water on floor,
"""


@pytest.fixture
def store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Store:
    marts = type("Marts", (), {"build_marts": staticmethod(lambda *_: None)})
    monkeypatch.setattr(loading, "import_module", lambda _: marts)
    return Store(tmp_path / "data")


def test_clean_calls_are_loaded_as_written(store: Store, tmp_path: Path) -> None:
    (tmp_path / "calls.csv").write_text(CALLS)
    report = load_files(store, [tmp_path / "calls.csv"])
    assert [(f.rows, f.loaded, f.set_aside) for f in report.files] == [(2, 2, 0)]
    rows = (
        store.reader()
        .cursor()
        .sql("select call_id, line, opened_at, closed_at, complaint from records.calls")
    )
    assert rows.fetchall() == [
        ("C1", 2, datetime(2026, 3, 1, 8), datetime(2026, 3, 1, 11, 30), "no ice"),
        ("C2", 3, datetime(2026, 3, 5, 9, 15), None, "water on floor"),
    ]


def test_loading_the_same_file_again_changes_nothing(store: Store, tmp_path: Path) -> None:
    (tmp_path / "calls.csv").write_text(CALLS)
    load_files(store, [tmp_path / "calls.csv"])
    before = store.current()
    again = load_files(store, [tmp_path / "calls.csv"])
    assert again.files[0].already_loaded
    assert (again.files[0].rows, again.files[0].loaded, again.files[0].repeated) == (2, 0, 2)
    assert store.current() == before


def test_five_columns_in_plain_words_load_without_a_mapping(store: Store, tmp_path: Path) -> None:
    (tmp_path / "calls.csv").write_text(
        "Call No,Unit,Date,Complaint,Found\n1,7,2026-03-01,no ice,filter clogged\n2,8,2026-03-02,lkg,nff\n"
    )
    assert load_files(store, [tmp_path / "calls.csv"]).files[0].loaded == 2
