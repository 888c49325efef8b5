"""How the records of one file are read: everything the staging statements are given."""

from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

from analytics.catalogues.units_of_measure import convert, read_units
from analytics.intake.contract import DATED, NUMERIC, Table
from analytics.intake.dates import ISO_FORMATS
from analytics.intake.numbers import POINT

SOURCE_LINE = "source_line"
LONGEST_FIELD = 100_000
"""Characters that a field may have; a file with a longer line goes to the careful reader."""


@dataclass
class Reading:
    """One way of reading one file.

    Parameters
    ----------
    table : Table
    path : Path
        A UTF-8 file with the records: the file itself, or a copy.
    header : tuple of str
        The file's own column names.
    columns : dict of str to int
        Our column -> place of the file's column, from 0.
    skipped_lines : int
        Lines of `path` before the first record.
    separator, quote, line_end : str
    longest_line : int
        Bytes that a line of `path` can have; a longer one is malformed.
    numbered : bool
        The copy has one more column with the physical line of each record.
    today : date
        Day of loading.
    extracted : date or datetime or None
        When the file was taken from the sender's system, where that is known.
    formats : dict of str to tuple of str
        Our date column -> strptime formats to try, in order.
    zoned : set of str
        Our date columns whose values carry an offset from UTC.
    signs : dict of str to str
        Our number column -> its decimal sign, of `numbers`; the point unless said.
    units : dict of str to str
        Our column -> unit of measure of its numbers.
    """

    table: Table
    path: Path
    header: tuple[str, ...]
    columns: dict[str, int]
    skipped_lines: int
    separator: str
    quote: str
    line_end: str
    today: date
    extracted: date | datetime | None = None
    longest_line: int = LONGEST_FIELD
    numbered: bool = False
    formats: dict[str, tuple[str, ...]] = field(default_factory=dict)
    zoned: set[str] = field(default_factory=set)
    signs: dict[str, str] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)

    @property
    def width(self) -> int:
        """Fields in a record of `path`."""
        return len(self.header) + self.numbered

    def file_columns(self) -> dict[str, str]:
        """Name and type of each column of `path`, in its order; unused ones under invented names."""
        ours = {place: column for column, place in self.columns.items()}
        names = {ours.get(place, f"unused {place + 1}"): "VARCHAR" for place in range(len(self.header))}
        return {**names, SOURCE_LINE: "BIGINT"} if self.numbered else names

    def field_kinds(self) -> list[str]:
        """Say of each field of the file how it is kept where its row is set aside."""
        ours = {place: column for column, place in self.columns.items()}
        return [self._field_kind(ours.get(place)) for place in range(len(self.header))]

    def _field_kind(self, column: str | None) -> str:
        if column is None or column not in self.table.columns:
            return "other" if column else "unused"
        kind = self.table.columns[column].kind
        return {"text": "text", "coded": "words"}.get(kind, "other")

    def values(self) -> dict[str, Any]:
        """Return the values that the staging statements of the table bind."""
        latest, latest_reason = self.latest()
        values: dict[str, Any] = {
            "table": self.table.name,
            "path": str(self.path),
            "columns": self.file_columns(),
            "skip": self.skipped_lines,
            "separator": self.separator,
            "quote": self.quote,
            "line_end": self.line_end.replace("\r", "\\r").replace("\n", "\\n"),
            "longest_line": self.longest_line,
            "latest": latest,
            "latest_reason": latest_reason,
            "header_word": self.header_word(),
            "field_kinds": self.field_kinds(),
            "has_closing": "closed_at" in self.columns,
            "has_outcome": "outcome" in self.columns,
        }
        for column in self.table.of_kind(*DATED):
            values[f"{column}_formats"] = list(self.formats.get(column) or ISO_FORMATS)
            values[f"{column}_zoned"] = column in self.zoned
        for column in self.table.of_kind(*NUMERIC):
            values[f"{column}_sign"] = self.signs.get(column, POINT)
        values.update(self._measures())
        return values

    def _measures(self) -> dict[str, Any]:
        """Units of measure of the columns, as the statements bind them."""
        known = read_units()
        values: dict[str, Any] = {"reading_in": None, "minutes_scale": 1.0}
        values["unit_spellings"] = [spelling for unit in known.values() for spelling in unit.spellings]
        for column, each in self.table.columns.items():
            if each.kind == "coded" and each.quantity:
                values[f"{column}_in"] = self.units.get(column)
        if unit := self.units.get("reading"):
            values["reading_in"] = unit
        if unit := self.units.get("minutes"):
            values["minutes_scale"] = convert(known, 1.0, unit, "min")
        return values

    def latest(self) -> tuple[datetime, str]:
        """First moment that no row can have, and the reason for it."""
        after_today = datetime.combine(self.today + timedelta(days=1), time())
        if self.extracted is None:
            return after_today, "after_today"
        day = self.extracted.date() if isinstance(self.extracted, datetime) else self.extracted
        after_extraction = datetime.combine(day + timedelta(days=1), time())
        if after_extraction < after_today:
            return after_extraction, "after_extraction"
        return after_today, "after_today"

    def header_word(self) -> str:
        """Header of the first column that must be filled: a row that has it there is the header again."""
        filled = next(name for name, column in self.table.columns.items() if column.filled)
        return self.header[self.columns[filled]] if filled in self.columns else ""
