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
