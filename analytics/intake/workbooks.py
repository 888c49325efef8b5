"""XLSX workbooks: their sheets, and one sheet as CSV, row by row; one that is made to burst is refused."""

import csv
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import ParseError

import openpyxl
from defusedxml.common import DefusedXmlException
from openpyxl.utils.exceptions import InvalidFileException
from openpyxl.xml import DEFUSEDXML

from analytics.errors import BadFile

MOST_UNPACKED_BYTES = 4_000_000_000
MOST_WORDS_BYTES = 300_000_000
"""The words of a workbook, each once, are held in memory while it is read."""
MOST_PARTS = 5_000
MOST_COLUMNS = 1_000
_WORDS = "xl/sharedStrings.xml"
_NOT_READ = (
    zipfile.BadZipFile,
    InvalidFileException,
    ParseError,
    DefusedXmlException,
    KeyError,
    ValueError,
    IndexError,
    TypeError,
    AttributeError,
    EOFError,
    NotImplementedError,
)
"""What a damaged workbook makes the reader raise."""


def sheet_names(path: Path, called: str) -> list[str]:
    """Return the names of the sheets that hold cells, in the order of the workbook.

    Parameters
    ----------
    path : Path
    called : str
        Its name for people.

    Raises
    ------
    BadFile
        When it is no workbook, is protected by a password, or would unpack to more than is read.
    """
    with _opened(path, called) as workbook:
        return [sheet.title for sheet in workbook.worksheets]


def largest_sheet(path: Path, called: str) -> int:
    """Return the place of the sheet with most rows, by what the workbook says of itself."""
    with _opened(path, called) as workbook:
        rows = [sheet.max_row or 0 for sheet in workbook.worksheets]
        return rows.index(max(rows)) if rows else 0


def write_csv(
    path: Path, sheet: int, target: Path, called: str, progress: Callable[[float], None] = lambda share: None
) -> int:
    """Write one sheet as CSV (UTF-8, commas), dates as 2026-03-01 14:05, and return its rows.

    Parameters
    ----------
    path : Path
    sheet : int
        Its place, from 0.
    target : Path
        The CSV file.
    called : str
        Name of the workbook for people.
    progress : callable
        Told the share done.

    Raises
    ------
    BadFile
        When it can not be read, or there is no such sheet.
    """
    rows = 0
    with _opened(path, called) as workbook, target.open("w", encoding="utf-8", newline="") as out:
        if not 0 <= sheet < len(workbook.worksheets):
            raise BadFile(f"{called} has {len(workbook.worksheets)} sheets. Choose one of them.")
        chosen = workbook.worksheets[sheet]
        expected = max(chosen.max_row or 1, 1)
        chosen.reset_dimensions()  # some programs write a wrong size, and rows would be lost
        writer = csv.writer(out, lineterminator="\n")
        width = 0
        for cells in chosen.iter_rows(values_only=True):
            written = [_text(each) for each in cells]
            while written and not written[-1]:
                written.pop()
            if len(written) > MOST_COLUMNS:
                raise BadFile(
                    f"{called} has a row of {len(written):,} columns; {MOST_COLUMNS:,} are read. Leave out "
                    "what lies far to the right, and bring it again."
                )
            if not written:
                continue
            width = max(width, len(written))  # cells that are empty at the end of a row are not in the file
            writer.writerow(written + [""] * (width - len(written)))
            rows += 1
            if rows % 5_000 == 0:
                progress(min(rows / expected, 1.0))
    if not rows:
        raise BadFile(f"The sheet '{chosen.title}' of {called} is empty. Choose another sheet.")
    return rows


@contextmanager
def _opened(path: Path, called: str) -> Iterator[Any]:
    if not DEFUSEDXML:  # the reader takes the safe parser only where it is told to
        raise RuntimeError("defusedxml is switched off in this environment (OPENPYXL_DEFUSEDXML)")
    _refuse_bursting(path, called)
    workbook = None
    try:
        with path.open("rb") as stream:
            workbook = openpyxl.load_workbook(stream, read_only=True, data_only=True, keep_links=False)
            yield workbook
    except _NOT_READ as error:
        raise BadFile(
            f"{called} can not be read as a workbook ({type(error).__name__}). Open it where it was "
            "made, save it anew as XLSX or as CSV, and bring that."
        ) from None
    finally:
        if workbook is not None:
            with suppress(Exception):
                workbook.close()


def _refuse_bursting(path: Path, called: str) -> None:
    """Refuse what would unpack to more than is read; of a part that lies about its size no more is read."""
    try:
        with zipfile.ZipFile(path) as packed:
            parts = packed.infolist()
    except (zipfile.BadZipFile, OSError, EOFError, NotImplementedError, ValueError) as error:
        raise BadFile(
            f"{called} is no workbook that can be read ({error}). Save it as CSV and bring that."
        ) from None
    if any(each.flag_bits & 1 for each in parts):
        raise BadFile(f"{called} is protected by a password. Save it without one and bring that.")
    if not any(each.filename == "xl/workbook.xml" for each in parts):
        raise BadFile(
            f"{called} is an archive, not an XLSX workbook. Bring the file with the records itself, as CSV "
            "or XLSX."
        )
    unpacked = sum(each.file_size for each in parts)
    words = sum(each.file_size for each in parts if each.filename == _WORDS)
    if unpacked > MOST_UNPACKED_BYTES or words > MOST_WORDS_BYTES or len(parts) > MOST_PARTS:
        raise BadFile(
            f"{called} would unpack to {unpacked / 1e6:,.0f} MB in {len(parts):,} parts, which is more than "
            "is read here. Save the sheet with the records as CSV and bring that."
        )


def _text(value: Any) -> str:
    """Write a cell as text: whole numbers without a point, dates with the year first."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
    if isinstance(value, datetime):
        at_midnight = value.time() == time()
        return value.strftime("%Y-%m-%d") if at_midnight else value.strftime("%Y-%m-%d %H:%M:%S")
    if isinstance(value, date | time | timedelta):
        return str(value)
    return str(value).replace("_x000D_", "").replace("\r\n", "\n")
