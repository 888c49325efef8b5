"""Workbooks: a sheet becomes the CSV it looks like; what is damaged, locked or made to burst is refused."""

import zipfile
from datetime import datetime
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from analytics.errors import BadFile
from analytics.intake import workbooks

ROWS: list[list[Any]] = [
    ["Report of March", None, None, None, None],
    ["Auftrag", "Eingang", "Kosten", "Text", "Offen"],
    [17, datetime(2026, 3, 4), 12.5, 'a, b; "c"', True],
    ["00018", datetime(2026, 3, 4, 14, 5), 12.0, "two\nlines", None],
    [None, None, None, None, None],
    ["19", None, None, "=cmd()", None],
]
WRITTEN = (
    "Report of March\n"
    "Auftrag,Eingang,Kosten,Text,Offen\n"
    '17,2026-03-04,12.5,"a, b; ""c""",yes\n'
    '00018,2026-03-04 14:05:00,12,"two\nlines",\n'
    "19,,,,\n"
)
"""Worked out by hand from `ROWS`; a formula that was never computed is blank."""


def workbook(path: Path, sheets: dict[str, list[list[Any]]]) -> Path:
    made = openpyxl.Workbook()
    made.remove(made.active)
    for name, rows in sheets.items():
        sheet = made.create_sheet(name)
        for row in rows:
            sheet.append(row)
    made.save(path)
    return path


@pytest.fixture
def good(tmp_path: Path) -> Path:
    return workbook(tmp_path / "received", {"Notes": [["hello"]], "März": ROWS})


def test_a_sheet_becomes_the_csv_it_looks_like(good: Path, tmp_path: Path) -> None:
    assert workbooks.sheet_names(good, "a.xlsx") == ["Notes", "März"]
    assert workbooks.write_csv(good, 1, tmp_path / "out.csv", "a.xlsx") == 5
    assert (tmp_path / "out.csv").read_text(encoding="utf-8") == WRITTEN


@pytest.mark.parametrize("nth", [-1, 2])
def test_a_sheet_that_is_not_there_is_said(good: Path, tmp_path: Path, nth: int) -> None:
    with pytest.raises(BadFile, match="has 2 sheets"):
        workbooks.write_csv(good, nth, tmp_path / "out.csv", "a.xlsx")


def test_an_empty_sheet_is_said(tmp_path: Path) -> None:
    path = workbook(tmp_path / "received", {"Empty": []})
    with pytest.raises(BadFile, match=r"'Empty' of a\.xlsx is empty"):
        workbooks.write_csv(path, 0, tmp_path / "out.csv", "a.xlsx")


def bursting(path: Path) -> Path:
    """300 MB of nothing, in a workbook of 300 kB."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/workbook.xml", "<workbook/>")
        with packed.open("xl/worksheets/sheet1.xml", "w", force_zip64=True) as part:
            for _ in range(300):
                part.write(b"0" * 1_000_000)
    return path


def refused(path: Path) -> None:
    with pytest.raises(BadFile, match="would unpack to 300 MB"):
        workbooks.sheet_names(path, "burst.xlsx")


def test_a_workbook_made_to_burst_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(workbooks, "MOST_UNPACKED_BYTES", 200_000_000)
    path = bursting(tmp_path / "received")
    assert path.stat().st_size < 400_000
    refused(path)


def test_a_limit_that_lets_it_through_is_caught(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(workbooks, "MOST_UNPACKED_BYTES", 10**15)
    with pytest.raises(AssertionError):
        refused(bursting(tmp_path / "received"))


def changed(source: Path, target: Path, part: str, change: Any) -> Path:
    with zipfile.ZipFile(source) as old, zipfile.ZipFile(target, "w") as new:
        for each in old.infolist():
            text = old.read(each)
            new.writestr(each.filename, change(text) if each.filename == part else text)
    return target


ENTITIES = b'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;">]>'


def test_xml_that_defines_entities_is_refused(good: Path, tmp_path: Path) -> None:
    def change(text: bytes) -> bytes:
        return ENTITIES + text.replace(b'<?xml version="1.0"?>', b"").split(b"?>")[-1]

    path = changed(good, tmp_path / "hostile", "xl/worksheets/sheet2.xml", change)
    with pytest.raises(BadFile, match="can not be read as a workbook") as problem:
        workbooks.write_csv(path, 1, tmp_path / "out.csv", "a.xlsx")
    assert str(tmp_path) not in str(problem.value)


@pytest.mark.parametrize("cut", [0.2, 0.5, 0.9])
def test_a_damaged_workbook_is_said(good: Path, tmp_path: Path, cut: float) -> None:
    whole = good.read_bytes()
    good.write_bytes(whole[: int(len(whole) * cut)])
    with pytest.raises(BadFile, match=r"a\.xlsx"):
        workbooks.write_csv(good, 1, tmp_path / "out.csv", "a.xlsx")


def test_another_archive_is_said(tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "received", "w") as packed:
        packed.writestr("calls.csv", "a,b\n")
    with pytest.raises(BadFile, match="an archive, not an XLSX workbook"):
        workbooks.sheet_names(tmp_path / "received", "calls.zip")
