"""Encodings are decided on the bytes of the whole file, and said where they are not plain UTF-8."""

import codecs
from pathlib import Path

import pytest

from analytics.errors import BadFile, BadMapping
from analytics.intake import encodings, scanning
from tests.analytics.intake.conftest import Load, Rows, calls

UMLAUT = calls("1,U,2026-03-01,Kühlschrank läuft aus", "2,U,2026-03-02,no ice")


@pytest.mark.parametrize(
    ("encoding", "mark", "name"),
    [
        ("utf-8", b"", "utf-8"),
        ("utf-8", codecs.BOM_UTF8, "utf-8-sig"),
        ("utf-16-le", codecs.BOM_UTF16_LE, "utf-16"),
        ("utf-16-be", codecs.BOM_UTF16_BE, "utf-16"),
        ("utf-16-le", b"", "utf-16-le"),
        ("utf-16-be", b"", "utf-16-be"),
        ("latin-1", b"", "latin-1"),
    ],
)
@pytest.mark.parametrize("line_end", ["\n", "\r\n"])
def test_the_same_text_in_every_encoding(
    load: Load, rows: Rows, encoding: str, mark: bytes, name: str, line_end: str
) -> None:
    report = load(mark + UMLAUT.replace("\n", line_end).encode(encoding))
    assert report.loaded == 2
    assert rows("select call_id, line, complaint from records.calls order by line") == [
        ("1", 2, "Kühlschrank läuft aus"),
        ("2", 3, "no ice"),
    ]
    assert rows("select encoding from loads.files") == [(name,)]


def test_windows_1252_is_told_by_bytes_that_latin_1_has_not(load: Load, rows: Rows) -> None:
    report = load(calls("1,U,2026-03-01,it’s “slow” – 5 €").encode("cp1252"))
    assert rows("select complaint from records.calls") == [("it’s “slow” – 5 €",)]
    assert any("Windows-1252" in message for message in report.messages)


def test_the_byte_that_decides_may_stand_at_the_very_end(load: Load, rows: Rows) -> None:
    lines = [f"{n},U,2026-03-01,läuft" for n in range(3000)]
    load(calls(*lines, "9999,U,2026-03-01,5 €").encode("cp1252"))
    assert rows("select encoding from loads.files") == [("cp1252",)]
    assert rows("select complaint from records.calls where call_id = '9999'") == [("5 €",)]


def test_mixed_encodings_are_read_line_by_line_and_said(load: Load, rows: Rows) -> None:
    text = calls("1,U,2026-03-01,läuft").encode() + "2,U,2026-03-02,tropft für 5 €\n".encode("cp1252")
    report = load(text)
    assert report.loaded == 2
    assert rows("select complaint from records.calls order by line") == [("läuft",), ("tropft für 5 €",)]
    assert any("mixed encodings" in message and "line 3" in message for message in report.messages)


def test_lines_that_no_encoding_reads_are_set_aside(load: Load, rows: Rows) -> None:
    text = calls("1,U,2026-03-01,läuft").encode() + b"2,U,2026-03-02,tr\x81pft\n3,U,2026-03-03,no ice\n"
    report = load(text)
    assert (report.rows, report.loaded, report.reasons) == (3, 2, {"undecodable": 1})
    assert rows("select line from loads.set_aside") == [(3,)]


def test_the_mapping_can_name_the_encoding(load: Load, rows: Rows) -> None:
    load(UMLAUT.encode("cp850"), mapping='encoding = "cp850"')
    assert rows("select complaint from records.calls where call_id = '1'") == [("Kühlschrank läuft aus",)]


def test_an_encoding_that_does_not_exist(load: Load) -> None:
    with pytest.raises(BadMapping, match="'klingon', which does not exist"):
        load(UMLAUT, mapping='encoding = "klingon"')


def test_an_encoding_that_does_not_fit(load: Load) -> None:
    with pytest.raises(BadFile, match="can not be read as utf-8"):
        load(UMLAUT.encode("latin-1"), mapping='encoding = "utf-8"')


def test_a_character_split_between_chunks_is_still_utf8(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "calls.csv"
    path.write_bytes(UMLAUT.encode())
    whole = scanning.scan(path)
    for size in (1, 2, 3, 7):
        monkeypatch.setattr(scanning, "CHUNK_BYTES", size)
        assert scanning.scan(path) == whole
    assert whole.is_utf8
    assert whole.lines == 3


@pytest.mark.parametrize(
    ("content", "lines", "line_end"),
    [
        (b"a\nb\n", 2, "\n"), (b"a\nb", 2, "\n"), (b"a\r\nb\r\n", 2, "\r\n"), (b"a\rb\r", 1, None),
        (b"a\nb\n\n\n", 2, "\n"), (b"a\r\nb\r\n\r\n", 2, "\r\n"), (b"a\n\nb\n", 3, "\n"),
        (b"a\rb\n", 1, None), (b"a\r\nb\n", 2, None), (b"a\r\nb", 2, "\r\n"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("size", [1, 2, 1024])
def test_lines_are_counted(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    content: bytes,
    lines: int,
    line_end: str | None,
    size: int,
) -> None:
    monkeypatch.setattr(scanning, "CHUNK_BYTES", size)
    path = tmp_path / "x.csv"
    path.write_bytes(content)
    found = scanning.scan(path)
    assert (found.lines, found.line_end) == (lines, line_end)


def test_utf8_without_any_mark_needs_no_copy(tmp_path: Path) -> None:
    path = tmp_path / "x.csv"
    path.write_bytes(UMLAUT.encode())
    assert not encodings.decide(path, scanning.scan(path)).needs_copy
