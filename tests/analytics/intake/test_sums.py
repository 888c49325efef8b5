"""Whatever a file holds, its rows add up, nothing is lost, and a second load changes nothing."""

import csv
import io
import unicodedata
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from analytics.intake.loading import load_files
from tests.analytics.intake.conftest import MemoryStore, NoMarts, load_catalogue_once

HEADER = ["call_id", "unit_id", "opened_at", "closed_at", "complaint", "notes"]
ANY = st.text(st.characters(codec="utf-8", exclude_categories=("Cs",)), max_size=12)
ID = st.sampled_from(["1", "2", "3", "4", "5", "", " "])
MOMENT = st.sampled_from(
    ["2026-03-01", "2026-03-01 10:00", "2026-02-28T09:30:00", "", "soon", "2099-01-01", "1899-01-01"]
)
ROW = st.tuples(ID, ID, MOMENT, MOMENT, ANY, ANY).map(list)
RAGGED = st.lists(ANY, max_size=9)


def trimmed(cell: str) -> str | None:
    """Without what is blank around it: spaces of whatever width, tabs, and line ends."""
    blank = {each for each in cell if unicodedata.category(each) in ("Zs", "Zl", "Zp")}
    return cell.strip("".join(blank) + "\t\n\f\r") or None


def words(cell: str) -> str | None:
    """Words keep what is blank behind them, which coding passes over, unless a character is beyond ASCII."""
    return trimmed(cell) if cell < "!" or not cell.isascii() else cell


def as_csv(rows: list[list[str]], line_end: str) -> bytes:
    out = io.StringIO(newline="")
    csv.writer(out, lineterminator=line_end, quoting=csv.QUOTE_ALL).writerows([HEADER, *rows])
    return out.getvalue().encode()


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(rows=st.lists(st.one_of(ROW, ROW, RAGGED), max_size=25), line_end=st.sampled_from(["\n", "\r\n"]))
def test_every_row_is_accounted_for(
    rows: list[list[str]], line_end: str, tmp_path: Path, marts: NoMarts
) -> None:
    store = MemoryStore(tmp_path / "scratch")
    path = tmp_path / "calls.csv"
    path.write_bytes(as_csv(rows, line_end))
    report = load_files(store, [path], catalogue=load_catalogue_once()).files[0]  # type: ignore[arg-type]
    cursor = store.cursor()
    assert cursor.sql("select count(*) from records.calls").fetchall() == [(report.loaded,)]
    assert cursor.sql("select count(distinct line) from loads.set_aside").fetchall() == [(report.set_aside,)]
    assert report.rows == report.loaded + report.repeated + report.set_aside
    written = [row for row in rows if [cell for cell in row if cell.strip()] or len(row) > 1]
    assert report.rows == len(written)
    assert load_files(store, [path], catalogue=load_catalogue_once()).files[0].already_loaded  # type: ignore[arg-type]


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(notes=st.lists(st.tuples(ANY, ANY), min_size=1, max_size=25), line_end=st.sampled_from(["\n", "\r\n"]))
def test_content_comes_through_as_it_was(
    notes: list[tuple[str, str]], line_end: str, tmp_path: Path, marts: NoMarts
) -> None:
    store = MemoryStore(tmp_path / "scratch")
    path = tmp_path / "calls.csv"
    rows = [[f"C{n}", "U", "2026-03-01", "", *pair] for n, pair in enumerate(notes)]
    path.write_bytes(as_csv(rows, line_end))
    report = load_files(store, [path], catalogue=load_catalogue_once()).files[0]  # type: ignore[arg-type]
    with_nul = {n for n, pair in enumerate(notes) if "\0" in "".join(pair)}
    assert report.reasons == ({"nul_bytes": len(with_nul)} if with_nul else {})
    found = dict(store.cursor().sql("select call_id, (complaint, notes) from records.calls").fetchall())
    expected = {
        f"C{n}": (words(said), trimmed(note)) for n, (said, note) in enumerate(notes) if n not in with_nul
    }
    assert found == expected


@pytest.mark.parametrize("space", [" ", "\t", "\n", " \t", "\u00a0", "\u2009", "\u3000"])
def test_spaces_of_any_width_around_a_value_are_none_of_it(
    space: str, tmp_path: Path, marts: NoMarts
) -> None:
    store = MemoryStore(tmp_path / "scratch")
    path = tmp_path / "calls.csv"
    rows = [
        ["A", f"U{space}", "2026-03-01", "", "no ice", f"{space}note{space}"],
        ["B", f"{space}U", "2026-03-01", "", "no ice", space],
    ]
    path.write_bytes(as_csv(rows, "\n"))
    load_files(store, [path], catalogue=load_catalogue_once())  # type: ignore[arg-type]
    found = (
        store.cursor().sql("select call_id, unit_id, notes from records.calls order by call_id").fetchall()
    )
    assert found == [("A", "U", "note"), ("B", "U", None)]


def test_the_count_catches_a_row_that_is_dropped(
    tmp_path: Path, marts: NoMarts, monkeypatch: pytest.MonkeyPatch
) -> None:
    from analytics.intake import judging

    whole = judging.judge

    def dropping(connection, values):  # type: ignore[no-untyped-def]
        connection.execute("delete from staged where rowid = 1")
        return whole(connection, values)

    monkeypatch.setattr(judging, "judge", dropping)
    path = tmp_path / "calls.csv"
    path.write_bytes(
        as_csv([["1", "U", "2026-03-01", "", "a", ""], ["2", "U", "2026-03-01", "", "a", ""]], "\n")
    )
    with pytest.raises(AssertionError, match="2 rows in the file"):
        load_files(MemoryStore(tmp_path / "scratch"), [path], catalogue=load_catalogue_once())  # type: ignore[arg-type]
