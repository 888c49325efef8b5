"""What a person is asked about a file whose columns are settled: dates, decimal signs, units, words."""

import csv
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import islice
from typing import Any

import polars as pl

from analytics.catalogue import Catalogue
from analytics.catalogues.units_of_measure import read_units
from analytics.intake import dates, numbers
from analytics.intake.contract import DATED, Table
from analytics.intake.headers import without_unit
from analytics.intake.normalising import code_texts
from analytics.intake.propose import settle
from analytics.intake.sheets import Sheet

MOST_UNKNOWN_WORDS = 12
MOST_KNOWN_WORDS = 12
MOST_ROW_CELLS = 8
MOST_TEXTS = 5_000
LONGEST_CELL = 120
UNKNOWN = "not recognised"


@dataclass(frozen=True)
class Asked:
    """What is asked, as plain values that can be noted as JSON; all by our column.

    Parameters
    ----------
    dates : dict
        Columns whose order of day and month is open: example, day_first and month_first (what it would mean),
        row (header and cell of the row it stands in).
    orders : dict
        Columns whose order their values decide.
    decimals : dict
        Columns in which a comma could be a decimal sign or part thousands: example; comma and point, what it
        is as either.
    units : dict
        Columns whose numbers carry no unit of measure: the units there are.
    words : dict
        The first column of each coding field: field; columns, all of that field, since a word means the same
        in each of them; unknown and known, each a list of (text, rows, code), most frequent first; more,
        how many different unknown texts there are beyond those.
    """

    dates: dict[str, dict[str, Any]]
    orders: dict[str, str]
    decimals: dict[str, dict[str, Any]]
    units: dict[str, list[str]]
    words: dict[str, dict[str, Any]]

    def open(self) -> list[str]:
        """Columns that can not be read until a person has answered."""
        return [*self.dates, *self.decimals]


def ask(
    catalogue: Catalogue,
    sheet: Sheet,
    table: Table,
    places: Mapping[str, int],
    forced: Sequence[str] = (),
) -> Asked:
    """Find what only a person can say.

    Parameters
    ----------
    catalogue : Catalogue
    sheet : Sheet
        Of the sample.
    table : Table
    places : mapping of str to int
        Our column -> place of the file's column.
    forced : sequence of str
        Our columns that turned out to be open over the whole file.
    """
    rows = records_of(sheet)
    values = {
        column: [value for row in rows if (value := row[place].strip())] for column, place in places.items()
    }
    orders, questions = settle(sheet, table, dict(places)) if places else ({}, {})
    wanted = [*questions, *(each for each in forced if each not in questions and each in places)]
    dated = [each for each in wanted if table.columns[each].kind in DATED]
    return Asked(
        dates={each: _both_ways(sheet, rows, places[each]) for each in dated},
        orders={column: order for column, order in orders.items() if column not in dated},
        decimals={each: _either_sign(values[each]) for each in wanted if each not in dated},
        units={
            column: units
            for column in places
            if (units := _units(sheet, table, places, column, values[column]))
        },
        words={
            columns[0]: _words(catalogue, field, columns, values) for field, columns in _coded(table, values)
        },
    )


def records_of(sheet: Sheet) -> list[tuple[str, ...]]:
    """Well-formed records of a sample, all of them in memory."""
    with sheet.path.open(encoding="utf-8-sig", newline="") as lines:
        for _ in islice(lines, sheet.dialect.skipped_lines):
            pass
        reader = csv.reader(lines, delimiter=sheet.dialect.separator, quotechar=sheet.dialect.quote)
        found: list[tuple[str, ...]] = []
        width = len(sheet.dialect.header)
        while True:
            try:
                row = next(reader)
            except StopIteration:
                return found
            except csv.Error:
                continue
            if len(row) == width:
                found.append(tuple(row))


def shortened(text: str) -> str:
    """Cut a long cell, marked by an ellipsis."""
    return text if len(text) <= LONGEST_CELL else text[: LONGEST_CELL - 1] + "…"


def _both_ways(sheet: Sheet, rows: Sequence[tuple[str, ...]], place: int) -> dict[str, Any]:
    """Find a row whose date reads as two different days, and say which."""
    for row in rows:
        value = row[place].strip()
        day, month = (_read(value, order) for order in (dates.DAY_FIRST, dates.MONTH_FIRST))
        if day and month and day != month:
            shown = [place, *(each for each in range(len(row)) if each != place and row[each].strip())]
            cells = [(sheet.dialect.header[each], shortened(row[each])) for each in shown[:MOST_ROW_CELLS]]
            return {"example": value, "day_first": _day(day), "month_first": _day(month), "row": cells}
    return {"example": "", "day_first": "", "month_first": "", "row": []}


def _read(value: str, order: str) -> datetime | None:
    formats = dates.decide([dates.Shape(dates.shape_of(value), 1, value, 0)], order).formats
    try:
        return datetime.strptime(value, formats[0]) if formats else None
    except ValueError:
        return None


def _day(moment: datetime) -> str:
    return f"{moment.day} {moment:%B %Y}"


def _either_sign(values: Sequence[str]) -> dict[str, Any]:
    found = next((each for each in values if "," in each and numbers.looks_numeric(each)), "")
    return {
        "example": found,
        "comma": found.replace(".", "").replace(",", "."),
        "point": found.replace(",", ""),
    }


def _units(
    sheet: Sheet, table: Table, places: Mapping[str, int], column: str, values: Sequence[str]
) -> list[str]:
    """Units that the bare numbers of a column can be in; none where they carry one, or are no numbers."""
    each = table.columns[column]
    if not (each.quantity or column == "reading") or ("reading_unit" in places and column == "reading"):
        return []
    bare = sum(numbers.looks_numeric(value) for value in values)
    if not values or 2 * bare < len(values) or without_unit(sheet.dialect.header[places[column]])[1]:
        return []
    return [code for code, unit in read_units().items() if each.quantity in (None, unit.quantity)]


def _coded(table: Table, values: Mapping[str, Sequence[str]]) -> list[tuple[str, list[str]]]:
    """Coding fields of the columns that hold anything, each with its columns."""
    fields: dict[str, list[str]] = {}
    for column in (each for each in table.columns if values.get(each)):
        if field := table.columns[column].field:
            fields.setdefault(field, []).append(column)
    return list(fields.items())


def _words(
    catalogue: Catalogue, field: str, columns: Sequence[str], values: Mapping[str, Sequence[str]]
) -> dict[str, Any]:
    counts = Counter(text for column in columns for text in values[column]).most_common(MOST_TEXTS)
    coded = code_texts(catalogue, field, [text for text, _ in counts])
    taken = dict(zip(coded["text"], coded.select(pl.struct("codes", "how")).to_series(), strict=True))
    unknown = [(text, rows, "") for text, rows in counts if taken[text]["how"] == UNKNOWN]
    known = [
        (text, rows, taken[text]["codes"][0])
        for text, rows in counts
        if taken[text]["how"] != UNKNOWN and len(taken[text]["codes"]) == 1
    ]
    return {
        "field": field,
        "columns": list(columns),
        "unknown": unknown[:MOST_UNKNOWN_WORDS],
        "known": known[:MOST_KNOWN_WORDS],
        "more": max(len(unknown) - MOST_UNKNOWN_WORDS, 0),
    }
