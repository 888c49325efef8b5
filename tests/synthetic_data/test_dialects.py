"""Foreign dialects hold the same fleet, and the dirt in them is exactly what is listed."""

import csv
from collections import Counter
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import pytest

from synthetic_data.dialects import Dialect, dialects
from synthetic_data.dirt import DATED
from tests.synthetic_data.tables import HEADERS, read

DIRTY = [name for name, dialect in dialects().items() if dialect.dirty]
CLOCK = {"opened_at", "closed_at", "arrived_at", "left_at"}
DAYS = {"installed_on", "retired_on", "changed_on", "started_on", "asked_on"}


def rows(folder: Path, dialect: Dialect, table: str) -> Iterator[tuple[int, list[str]]]:
    """Physical line and fields of every row of a foreign file, read with Python's own csv module."""
    path = folder / dialect.name / dialect.files[table]
    with path.open(encoding=dialect.encoding, newline="") as file:
        if dialect.mark:
            assert file.read(1) == "\ufeff"
        reader, line = csv.reader(file, delimiter=dialect.separator), 0
        for fields in reader:
            yield line + 1, fields
            line = reader.line_num


def listed(folder: Path, name: str) -> set[tuple[str, int, str]]:
    """The dirty rows as listed: file, line, kind."""
    with (folder / name / "truth" / "dirt.csv").open(encoding="utf-8", newline="") as file:
        return {(row["file"], int(row["line"]), row["kind"]) for row in csv.DictReader(file)}


def _moment(text: str, dialect: Dialect, column: str) -> datetime | None:
    try:
        return datetime.strptime(text, dialect.time if column in CLOCK else dialect.day)
    except ValueError:
        return None


def _wrong(fields: list[str], dialect: Dialect, table: str) -> str | None:
    """What is wrong with a row by itself, judged without the list."""
    columns = list(dialect.headers[table])
    if len(fields) != len(columns):
        return "ragged_short" if len(fields) < len(columns) else "ragged_long"
    if any("\0" in field for field in fields):
        return "nul"
    row = dict(zip(columns, fields, strict=True))
    if table in DATED:
        moment = _moment(row[DATED[table]], dialect, DATED[table])
        if moment is None:
            return "bad_date"
        if moment.year in (1899, 2099):
            return "long_ago" if moment.year == 1899 else "far_future"
    if table == "calls" and row["closed_at"]:
        opened, closed = (_moment(row[name], dialect, name) for name in ("opened_at", "closed_at"))
        if closed < opened:
            return "closed_before_opened"
    if (
        table == "checks"
        and row["reading"]
        and row["reading_unit"] not in {u["to"] for u in dialect.units.values()}
    ):
        return "unknown_unit"
    return None


def found(folder: Path, dialect: Dialect) -> set[tuple[str, int, str]]:
    """The dirty rows as found by looking: file, line, kind."""
    dirty = set()
    for table, name in dialect.files.items():
        body = list(rows(folder, dialect, table))[1:]
        ids = Counter(fields[0] for _, fields in body)
        for line, fields in body:
            kind = _wrong(fields, dialect, table)
            if kind is None and table in ("calls", "visits") and ids[fields[0]] > 1:
                kind = "duplicate_id"
            if kind:
                dirty.add((name, line, kind))
    return dirty


def test_there_are_at_least_three_dirty_dialects_and_one_clean_one():
    assert len(DIRTY) >= 3
    assert len(DIRTY) < len(dialects())


@pytest.mark.parametrize("name", DIRTY)
def test_the_list_of_dirt_is_exact(foreign: Path, name: str):
    assert found(foreign, dialects()[name]) == listed(foreign, name)


@pytest.mark.parametrize("name", DIRTY)
def test_every_kind_of_dirt_is_there(foreign: Path, name: str):
    assert {kind for _, _, kind in listed(foreign, name)} == {
        "ragged_short",
        "ragged_long",
        "bad_date",
        "far_future",
        "long_ago",
        "closed_before_opened",
        "duplicate_id",
        "unknown_unit",
        "nul",
    }


def test_quoted_newlines_shift_physical_lines_in_one_dialect(foreign: Path):
    dialect = dialects()["semicolon_german_style"]
    lines = [line for line, _ in rows(foreign, dialect, "calls")]
    assert lines != list(range(1, len(lines) + 1))


def _canonical(text: str, dialect: Dialect, column: str) -> str:
    """A foreign field as it stands in the canonical file."""
    if not text:
        return ""
    if column in CLOCK:
        return datetime.strptime(text, dialect.time).strftime("%Y-%m-%d %H:%M")
    if column in DAYS:
        return datetime.strptime(text, dialect.day).strftime("%Y-%m-%d")
    if column == "callback_flag":
        return {dialect.yes: "yes", dialect.no: "no"}[text]
    if column == "cost" and dialect.decimal_comma:
        return text.replace(",", ".")
    return text


@pytest.mark.parametrize("name", DIRTY)
@pytest.mark.parametrize("table", HEADERS)
def test_clean_rows_hold_what_the_canonical_file_holds(foreign: Path, name: str, table: str):
    dialect, columns = dialects()[name], HEADERS[table].split()
    dirty = {line for file, line, _ in listed(foreign, name) if file == dialect.files[table]}
    told = [(line, fields) for line, fields in rows(foreign, dialect, table)][1:]
    told = [fields for line, fields in told if line not in dirty]
    skipped = (
        {"reading", "reading_unit"} if table == "checks" else {"notes"} if dialect.line_end == "\n" else set()
    )
    kept = [column for column in columns if column not in skipped]
    theirs = [
        tuple(_canonical(fields[columns.index(column)], dialect, column) for column in kept)
        for fields in told
    ]
    ours = list(read(foreign, table).select(kept).fill_null("").iter_rows())
    assert len(theirs) >= len(ours) - len(dirty)
    left_over = Counter(theirs) - Counter(ours)
    assert not left_over


@pytest.mark.parametrize("name", DIRTY)
def test_readings_are_the_same_in_other_units_of_measure(foreign: Path, name: str):
    dialect = dialects()[name]
    ours = [row for row in read(foreign, "checks").select("reading", "reading_unit").iter_rows() if row[0]]
    dirty = {line for file, line, _ in listed(foreign, name) if file == dialect.files["checks"]}
    assert len(ours) > 300
    for unit in {unit for _, unit in ours}:
        theirs = dialect.units[unit]
        # 1 psi = 6.894757 kPa, 1 bar = 100 kPa: NIST SP 811, appendix B.8; 1.8 F a degree C from 32
        to_basic = {"psi": 6.894757, "kPa": 1, "bar": 100, "kOhm": 1000, "kohm": 1000}
        expected = to_basic.get(unit, 1) / to_basic.get(str(theirs["to"]), 1)
        if unit not in ("C", "F"):
            assert theirs["scale"] == pytest.approx(expected, rel=1e-6), unit
        else:
            freezing, boiling = (0, 100) if unit == "C" else (32, 212)
            there = (0, 100) if theirs["to"] == "°C" else (32, 212)
            assert theirs["scale"] * freezing + theirs["shift"] == pytest.approx(there[0], abs=1e-6)
            assert theirs["scale"] * boiling + theirs["shift"] == pytest.approx(there[1], abs=1e-6)
    body = [fields for line, fields in rows(foreign, dialect, "checks") if line not in dirty][1:]
    open_coils = sum(fields[4] == "OL" for fields in body)
    assert 0 <= sum(reading == "OL" for reading, _ in ours) - open_coils <= len(dirty)
    assert {fields[5] for fields in body if fields[5]} <= {str(unit["to"]) for unit in dialect.units.values()}


def test_five_columns_are_enough_for_one_office(foreign: Path):
    dialect = dialects()["five_columns_dates_only"]
    body = list(rows(foreign, dialect, "calls"))
    calls = read(foreign, "calls")
    assert body[0][1] == ["Call", "Unit", "Date", "Complaint", "What was found"]
    assert [fields[2] for _, fields in body[1:]] == calls["opened_at"].str.head(10).to_list()
    assert [fields[4] for _, fields in body[1:]] == calls["root_cause"].fill_null("").to_list()
    assert not (foreign / dialect.name / "truth" / "dirt.csv").exists()


@pytest.mark.parametrize("name", dialects())
def test_the_key_to_the_headers_is_written(foreign: Path, name: str):
    dialect = dialects()[name]
    with (foreign / name / "truth" / "headers.csv").open(encoding="utf-8", newline="") as file:
        key = list(csv.DictReader(file))
    for table in dialect.files:
        first = next(rows(foreign, dialect, table))[1]
        assert first == [row["header"] for row in key if row["table"] == table]
        assert set(HEADERS[table].split()) >= {row["column"] for row in key if row["table"] == table}
