"""Loading clean files: every row is accounted for, and loading again changes nothing."""

from datetime import date, datetime
from pathlib import Path

import pytest

from analytics.errors import BadQuestion, NeedsAnswer
from analytics.intake.loading import load_files
from analytics.intake.report import FileReport
from analytics.store import Store
from tests.analytics.intake.conftest import Load, NoMarts, Rows, calls

WIDE = """call_id,unit_id,opened_at,closed_at,complaint,root_cause
C1,U1,2026-03-01 08:00,2026-03-01 11:30,no ice,inlet_valve_seeping
C2,U1,2026-03-05 09:15,,water on floor,
"""
OTHERS = {
    "visits": ("visit_id,call_id,arrived_at,result\nV1,C1,2026-03-01 09:00,done\n", 1),
    "checks": (
        "visit_id,call_id,sequence,check,reading,reading_unit,finding,minutes\n"
        "V1,C1,1,valve_coil_ohms,OL,ohm,fault,4\nV1,C1,2,freezer_temperature,-18,°C,no_fault,2\n",
        2,
    ),
    "parts": ("visit_id,call_id,part,quantity,cost\nV1,C1,inlet_valve,1,42.50\n", 1),
    "units": ("unit_id,installed_on,depot\nU1,2020-05-01,North\n", 1),
    "filter_changes": ("unit_id,changed_on\nU1,2025-10-01\nU1,2026-01-01\n", 2),
    "technicians": ("technician_id,depot,started_on\nT1,North,2019-01-01\n", 1),
    "follow_ups": ("call_id,asked_on,answer,source\nC1,2026-03-20,works,telephone\n", 1),
}


def test_calls_are_kept_as_written_with_their_line(load: Load, rows: Rows) -> None:
    report = load(WIDE)
    assert (report.rows, report.loaded, report.set_aside) == (2, 2, 0)
    assert rows(
        "select call_id, line, opened_at, opened_has_time, closed_at, complaint from records.calls"
    ) == [
        ("C1", 2, datetime(2026, 3, 1, 8), True, datetime(2026, 3, 1, 11, 30), "no ice"),
        ("C2", 3, datetime(2026, 3, 5, 9, 15), True, None, "water on floor"),
    ]


@pytest.mark.parametrize("table", OTHERS)
def test_every_table_is_recognised_by_its_header(table: str, load: Load, rows: Rows) -> None:
    text, expected = OTHERS[table]
    report = load(text, name="some.csv")
    assert (report.table, report.rows, report.loaded) == (table, expected, expected)
    assert rows(f"select count(*) from records.{table} where source = 'main'") == [(expected,)]


def test_a_reading_that_is_no_number_stays_as_text(load: Load, rows: Rows) -> None:
    load(OTHERS["checks"][0])
    assert rows("select reading, reading_text, reading_unit from records.checks order by line") == [
        (None, "OL", "ohm"),
        (-18.0, "-18", "°C"),
    ]


def test_five_columns_in_plain_words_load_without_a_mapping(load: Load, rows: Rows) -> None:
    report = load(
        "Call No,Unit,Date,Complaint,Found\n1,7,2026-03-01,no ice,filter clogged\n2,8,2026-03-02,lkg,nff\n"
    )
    assert (report.table, report.loaded) == ("calls", 2)
    found = rows(
        "select call_id, opened_has_time, closing_recorded, root_cause from records.calls order by line"
    )
    assert found == [("1", False, False, "filter clogged"), ("2", False, False, "nff")]


def test_the_same_file_again_changes_nothing(tmp_path: Path, marts: NoMarts) -> None:
    store = Store(tmp_path / "data")
    (tmp_path / "calls.csv").write_text(WIDE)
    load_files(store, [tmp_path / "calls.csv"])
    before = store.current()
    again = load_files(store, [tmp_path / "calls.csv"]).files[0]
    assert again.already_loaded
    assert (again.rows, again.loaded, again.repeated, again.set_aside) == (2, 0, 2, 0)
    assert store.current() == before
    assert marts.asked == ["all"]


def test_the_same_file_with_an_extraction_date_is_read_again(load: Load, marts: NoMarts) -> None:
    load(WIDE)
    again = load(WIDE, extracted=date(2026, 3, 6))
    assert not again.already_loaded
    assert (again.repeated_exact, again.loaded) == (2, 0)
    assert marts.asked == ["all", "touched_units"]


def test_one_bad_file_loads_none(tmp_path: Path) -> None:
    store = Store(tmp_path / "data")
    (tmp_path / "calls.csv").write_text(WIDE)
    (tmp_path / "checks.csv").write_text('call_id,check,reading\nC1,pressure,"1,250"\n')
    with pytest.raises(NeedsAnswer, match="Whether the comma"):
        load_files(store, [tmp_path / "calls.csv", tmp_path / "checks.csv"])
    assert not store.exists()


def test_no_file_at_all(tmp_path: Path) -> None:
    with pytest.raises(BadQuestion, match="nothing to load"):
        load_files(Store(tmp_path), [])


def test_several_files_are_one_load(tmp_path: Path, marts: NoMarts) -> None:
    store = Store(tmp_path / "data")
    (tmp_path / "calls.csv").write_text(WIDE)
    for table, (text, _) in OTHERS.items():
        (tmp_path / f"{table}.csv").write_text(text)
    report = load_files(store, sorted(tmp_path.glob("*.csv")))
    assert report.load_id == 1
    rows = lambda query: store.reader().cursor().sql(query).fetchall()  # noqa: E731
    assert rows('select count(distinct load_id), count(*), bool_and("rows" = loaded) from loads.files') == [
        (1, 8, True)
    ]


def test_stages_are_reported_in_order(tmp_path: Path, marts: NoMarts) -> None:
    (tmp_path / "calls.csv").write_text(WIDE)
    seen: list[str] = []
    load_files(
        Store(tmp_path / "data"), [tmp_path / "calls.csv"], progress=lambda stage, share: seen.append(stage)
    )
    stages = list(dict.fromkeys(seen))
    assert stages == [
        "decoding", "copying", "staging", "writing", "coding", "building marts", "checkpoint", "pointer",
    ]  # fmt: skip


def test_words_are_coded_and_what_is_not_known_is_counted(load: Load, rows: Rows) -> None:
    report = load(calls("1,U,2026-03-01,no ice", "2,U,2026-03-02,zzz qqq", "3,U,2026-03-03,zzz qqq"))
    assert report.unrecognised == {"complaint": 2}
    assert rows(
        "select text, how from texts.codings where field = 'complaint' and how = 'not recognised'"
    ) == [("zzz qqq", "not recognised")]


def test_a_report_that_does_not_add_up_stops_the_load() -> None:
    with pytest.raises(AssertionError, match="3 rows in the file"):
        FileReport(file="x", table="calls", rows=3, loaded=1, set_aside=1).check()


def test_blank_texts_are_nothing(load: Load, rows: Rows) -> None:
    load(calls(" 1 ,U,2026-03-01,no ice,   ", header="call_id,unit_id,opened_at,complaint,notes"))
    assert rows("select call_id, notes from records.calls") == [("1", None)]
