"""Foreign CSV texts on the loader's way: what it keeps of each, line by line, before any row is judged.

The suites hold no service calls, so a text is given a header of units above it, as wide as its rows: from
there it goes the way of every file, from the bytes to the staged rows and the malformed records set aside.
"""

import re
from collections.abc import Callable, Sequence
from datetime import date, datetime
from pathlib import Path
from typing import NamedTuple
from unittest.mock import patch

import duckdb

from analytics.intake import one_file, sheets, staging
from analytics.intake.contract import tables
from analytics.intake.extraction import UNKNOWN
from analytics.intake.mapping import Mapping, TableMapping
from analytics.intake.one_file import Load
from analytics.intake.order import Order, Wishes, order_for
from analytics.intake.recognising import Recognised
from analytics.store_opening import create_tables
from tests.analytics.intake.conftest import load_catalogue_once

COLUMNS = (
    "unit_id", "product_family", "ice_maker_kind", "filter_kind", "water_supply", "shutoff_valve", "location",
    "household_id", "depot",
)  # fmt: skip
TODAY = date(2026, 12, 31)
FILE_VALUES = ("path", "skip", "columns", "separator", "quote", "line_end", "longest_line")
LINE_END = re.compile(r"\r\n|\n|\r")


class Kept(NamedTuple):
    """A record as the loader keeps it.

    Parameters
    ----------
    line : int
        Line of the text it begins on, from 1.
    reason : str or None
        Why it is set aside; None where it is read as a row.
    fields : tuple of str
        Without the spaces around them.
    """

    line: int
    reason: str | None
    fields: tuple[str, ...]


Keep = Callable[[str, int, str], list[Kept]]


def keeper(folder: Path) -> Keep:
    """Return what tells the records that the loader keeps of a text of some width and separator."""
    connection = duckdb.connect(config={"threads": 1})
    create_tables(connection)
    staging.prepare(connection)
    load = Load(connection, 1, datetime(2026, 12, 31), TODAY, True, load_catalogue_once(), folder)

    def keep(text: str, width: int, separator: str) -> list[Kept]:
        path = folder / "text.csv"
        path.write_bytes(under_header(text, width, separator).encode())
        return _kept(load, path, width, separator)

    return keep


def under_header(text: str, width: int, separator: str) -> str:
    """Put a header of units above a text, with its own line end and behind its byte order mark."""
    found = LINE_END.search(text)
    mark = "\ufeff" if text.startswith("\ufeff") else ""
    return mark + separator.join(COLUMNS[:width]) + (found[0] if found else "\n") + text.removeprefix(mark)


def _kept(load: Load, path: Path, width: int, separator: str) -> list[Kept]:
    connection = load.connection
    connection.execute("delete from loads.set_aside")
    order = order_for(path, Wishes(Mapping(separator=separator), TODAY, "units"))
    reading, scanned = one_file._readable(load, order)
    staged = staging.stage(
        connection, path.name, reading, scanned, TableMapping(), file_id=1, scratch=load.scratch,
        undecodable=order.sheet.encoding.undecodable,
    )  # fmt: skip
    skipped = staged.reading.skipped_lines
    rows = connection.execute(
        "select line_of(source_line, record_lines.line, staged.rowid + 1, ?), null, "
        f"[{', '.join(COLUMNS[:width])}] from staged left join record_lines on nth = staged.rowid + 1",
        [skipped],
    ).fetchall()
    rows += connection.execute("select line, reason, fields from loads.set_aside").fetchall()
    assert len(rows) == staged.rows
    return sorted(Kept(line - 1, reason, _stripped(fields)) for line, reason, fields in rows)


def _stripped(fields: Sequence[str | None]) -> tuple[str, ...]:
    return tuple((each or "").strip() for each in fields)


def expected(rows: Sequence[Sequence[str]], width: int) -> list[Kept]:
    """Return what is to be kept of rows that a suite expects; a row of one blank field is none."""
    wanted, line = [], 1
    for row in rows:
        fields = tuple(str(each).strip() for each in row)
        if len(fields) > 1 or any(fields):
            few = "too_few_fields" if len(fields) < width else "too_many_fields"
            wanted.append(Kept(line, None if len(fields) == width else few, fields))
        line += 1 + sum(len(LINE_END.findall(str(each))) for each in row)
    return wanted


def signs(text: str) -> list[str]:
    """Return the letters and digits of a text in their order: what no way of reading it may lose."""
    return [each for each in text if each.isalnum()]


def lost(text: str, kept: Sequence[Kept]) -> bool:
    """Say whether the records lack a letter or digit of the text, or have one that it lacks."""
    return signs(text) != signs("".join("".join(each.fields) for each in kept))


class Reader:
    """Reads foreign files as they are, with no column of ours in them.

    Parameters
    ----------
    folder : Path
        For scratch.
    """

    def __init__(self, folder: Path) -> None:
        connection = duckdb.connect(config={"threads": 1})
        create_tables(connection)
        staging.prepare(connection)
        connection.execute("create table verdicts (nth bigint, verdict varchar)")
        self._load = Load(connection, 1, datetime(2026, 12, 31), TODAY, True, load_catalogue_once(), folder)

    def kept(self, path: Path, separator: str | None = None) -> tuple[tuple[str, ...], list[Kept]]:
        """Return the header of a file, and the records kept of it on their physical lines, nothing masked."""
        connection = self._load.connection
        connection.execute("delete from loads.set_aside")
        sheet = sheets.look_at(path, Mapping(separator=separator))
        nothing = Recognised(tables()["units"], {}, {})
        order = Order(sheet, nothing, Mapping(), "main", UNKNOWN, full_extract=False)
        reading, scanned = one_file._readable(self._load, order)
        with patch.object(staging, "mask", str):
            staged = staging.stage(
                connection, path.name, reading, scanned, TableMapping(), file_id=1,
                scratch=self._load.scratch, undecodable=sheet.encoding.undecodable,
            )  # fmt: skip
        rows = connection.execute(
            "with rows as (from numbered_rows($path, $skip, $columns, $separator, $quote, $line_end, "
            "$longest_line) union all by name select null::bigint as source_line where false) "
            "select line_of(source_line, record_lines.line, nth, $skip), null, "
            "list_value(*columns(rows.* exclude (nth, source_line))) "
            "from rows left join record_lines using (nth)",
            {each: staged.reading.values()[each] for each in FILE_VALUES},
        ).fetchall()
        rows += connection.execute("select line, reason, fields from loads.set_aside").fetchall()
        assert len(rows) == staged.rows
        return reading.header, sorted(Kept(line, reason, _stripped(fields)) for line, reason, fields in rows)
