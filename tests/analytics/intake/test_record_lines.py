"""Where records begin in a file whose quoted fields hold line ends: told by the quotes, or not at all."""

import csv
import io
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from analytics.intake import record_lines
from analytics.intake.contract import tables
from analytics.intake.reading import Reading
from tests.analytics.intake.conftest import Load, Rows, calls

HEADER = ("unit_id", "product_family")
CELL = st.text(st.sampled_from('ab,"\n é'), max_size=6)


def reading(path: Path) -> Reading:
    return Reading(
        table=tables()["units"], path=path, header=HEADER, columns={"unit_id": 0}, skipped_lines=1,
        separator=",", quote='"', line_end="\n", today=date(2026, 3, 1),
    )  # fmt: skip


def found(path: Path, text: str) -> list[int] | None:
    path.write_bytes(text.encode())
    lines = record_lines.find(reading(path))
    return None if lines is None else lines.tolist()


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(rows=st.lists(st.tuples(CELL, CELL), min_size=1, max_size=12), chunk=st.sampled_from([1, 3, 8, 1000]))
def test_as_python_reads_it(rows: list[tuple[str, str]], chunk: int, tmp_path: Path) -> None:
    out = io.StringIO(newline="")
    csv.writer(out, lineterminator="\n", quoting=csv.QUOTE_ALL).writerows([HEADER, *rows])
    reader, expected, before = csv.reader(io.StringIO(out.getvalue(), newline="")), [], 0
    for _ in reader:
        expected.append(before + 1)
        before = reader.line_num
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(record_lines, "CHUNK_BYTES", chunk)
        assert found(tmp_path / "x.csv", out.getvalue()) == expected[1:]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("h,h\n1,a\n\n2,b\n", [2, 4]),
        ('h,h\n1,"a\n\nb"\n2,b', [2, 5]),
        ('h,h\r\n1,"a\r\nb"\r\n\r\n2,b\r\n', [2, 5]),
        ('h,h\n1,"a\n2,b\n', None),
        ('h,h\n1,a" b\n2,c" d\n3,e\n', None),
        ('h,h\n1,"a\nb"c\n', None),
    ],
)
def test_doubt_is_no_answer(tmp_path: Path, text: str, expected: list[int] | None) -> None:
    assert found(tmp_path / "x.csv", text) == expected


def test_too_many_long_records_are_left_to_the_careful_reader(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = "h,h\n" + '1,"a\nb"\n' * 3
    assert found(tmp_path / "x.csv", text) == [2, 4, 6]
    monkeypatch.setattr(record_lines, "MOST_LONG_RECORDS", 2)
    assert found(tmp_path / "x.csv", text) is None


NOTES = calls('1,U,2026-03-01,"a', 'b"', "2,U,2026-03-02,c", '3,U,never,"d', 'e"', "4,U,2026-03-04,f")


def test_lines_are_right_below_quoted_line_ends(load: Load, rows: Rows) -> None:
    load(NOTES)
    assert rows("select call_id, line from records.calls order by line") == [("1", 2), ("2", 4), ("4", 7)]
    assert rows("select line, fields[4] from loads.set_aside") == [(5, "d\ne")]


def test_wrong_lines_would_be_seen(load: Load, rows: Rows, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(record_lines, "find", lambda reading: np.array([2, 3, 4, 5]))
    load(NOTES)
    assert rows("select line from loads.set_aside") != [(5,)]


@pytest.mark.parametrize("chunk", [1, 3, 8, 1000])
@pytest.mark.parametrize(
    ("text", "by_quotes", "fits"),
    [
        ('h,h\n1,"a,b"\n2,c\n', True, True),
        ("h,h\n1,a\n2,c\n", False, True),
        ('h,h\n1,5" a\n2,"c,d"\n', False, True),
        ("h,h\n1,a\n2,c,\n", False, False),
        ('h,h\n1,"a,b"\n2,c,\n', True, False),
        ('h,h\n1,a\n2,5" c,""\n', False, False),
    ],
)
def test_a_separator_too_many_is_seen(
    text: str, by_quotes: bool, fits: bool, chunk: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(record_lines, "CHUNK_BYTES", chunk)
    (tmp_path / "x.csv").write_bytes(text.encode())
    assert record_lines.separators_fit(reading(tmp_path / "x.csv"), 2, by_quotes=by_quotes) is fits


def test_a_loader_that_leaves_separators_uncounted_is_caught(
    load: Load, rows: Rows, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A comma in a complaint shifts its row; DuckDB passes over the empty field left at the end."""
    monkeypatch.setattr(record_lines, "separators_fit", lambda *_, **__: True)
    header = "call_id,unit_id,opened_at,complaint,depot"
    load(calls("C1,U1,2026-03-01,no ice, since May,", "C2,U1,2026-03-02,no ice,north", header=header))
    assert rows("select depot from records.calls where call_id = 'C1'") == [("since May",)]


def test_a_row_shifted_by_a_comma_is_set_aside(load: Load) -> None:
    header = "call_id,unit_id,opened_at,complaint,depot"
    lines = ("C1,U1,2026-03-01,no ice, since May,", "C2,U1,2026-03-02,no ice,north")
    report = load(calls(*lines, header=header))
    assert (report.loaded, report.reasons) == (1, {"too_many_fields": 1})
