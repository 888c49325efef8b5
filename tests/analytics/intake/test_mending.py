"""Rows mended by hand are read as their file was read, and leave the list; what is still wrong stays."""

from datetime import date
from pathlib import Path

import pytest

from analytics.errors import BadQuestion, NeedsAnswer
from analytics.fleet import Fleet
from analytics.intake.loading import load_files
from analytics.intake.mending import mend, own_columns, own_fields
from analytics.intake.taking_back import take_back
from analytics.store import Store
from tests.analytics.intake.conftest import load_catalogue_once

GERMAN = (
    "Auftragsnr;Gerät;Eingang;Beschwerde\n"
    '1;U;28.02.2026;"kein Eis"\n2;U;31.02.2026;"say ""no"", two\nlines"\n3;U\n4;U;40.02.2026;leak\n'
)


@pytest.fixture
def store(tmp_path: Path) -> Store:
    store = Store(tmp_path / "store")
    (tmp_path / "a.csv").write_text(GERMAN, encoding="utf-8")
    load_files(
        store, [tmp_path / "a.csv"], source="north", today=date(2026, 12, 31), catalogue=load_catalogue_once()
    )
    return store


def listed(store: Store) -> list[tuple[int, int, str]]:
    return Fleet(store).set_aside()[0].select("file_id", "line", "reason").rows()


def test_mended_rows_are_loaded_and_leave_the_list(store: Store) -> None:
    assert listed(store) == [(1, 3, "not_a_date"), (1, 5, "too_few_fields"), (1, 6, "not_a_date")]
    reports = mend(store, {(1, 3): ["2", "U", "27.02.2026", 'say "no"'], (1, 6): ["4", "U", "soon", "leak"]})
    assert [(each.files[0].loaded, each.files[0].set_aside) for each in reports] == [(1, 1)]
    assert listed(store) == [(2, 3, "not_a_date"), (1, 5, "too_few_fields")]
    cursor = store.reader().cursor()
    assert cursor.execute("select complaint, source from records.calls where call_id = '2'").fetchall() == [
        ('say "no"', "north")
    ]
    assert Fleet(store).set_aside_reasons().rows() == [("not_a_date", 1), ("too_few_fields", 1)]
    mend(store, {(2, 3): ["4", "U", "26.02.2026", "leak"]})
    assert listed(store) == [(1, 5, "too_few_fields")]


def test_order_of_day_and_month_is_asked_for_where_the_rows_leave_it_open(store: Store) -> None:
    row = {(1, 3): ["2", "U", "03/02/2026", "leak"]}
    with pytest.raises(NeedsAnswer):
        mend(store, row)
    mend(store, row, order="day first")
    cursor = store.reader().cursor()
    assert cursor.execute("select month(opened_at) from records.calls where call_id = '2'").fetchone() == (2,)


def test_a_row_that_is_not_set_aside_is_refused(store: Store) -> None:
    for rows in ({}, {(1, 2): ["1", "U", "", ""]}, {(9, 3): ["1"]}):
        with pytest.raises(BadQuestion):
            mend(store, rows)


def test_taking_the_mended_file_back_lists_its_rows_again(store: Store) -> None:
    before = listed(store)
    mend(store, {(1, 3): ["2", "U", "27.02.2026", "leak"]})
    take_back(store, [2], catalogue=load_catalogue_once())
    assert listed(store) == before


def test_a_file_goes_with_the_rows_mended_out_of_it(store: Store) -> None:
    mend(store, {(1, 3): ["2", "U", "27.02.2026", "leak"]})
    with pytest.raises(BadQuestion, match="mended rows of a"):
        take_back(store, [1], catalogue=load_catalogue_once())
    taken = take_back(store, [1], with_later=True, catalogue=load_catalogue_once())
    assert taken.after["calls"] == 0
    assert listed(store) == []


def test_fields_are_those_of_the_files_own_columns() -> None:
    header = ["set_aside_file", "set_aside_line", "set_aside_reason", "a", "b"]
    assert own_columns(header) == ["a", "b"]
    assert own_fields(header, ["1", "2", "why", "x"]) == ["x", ""]
    assert own_fields(["a", "b"], ["x", "y", "z"]) == ["x", "y", "z"]
