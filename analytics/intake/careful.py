"""Reading records one by one, where a file is not simply one record a line.

The fast way lets DuckDB read the file. This one knows the physical line of every record, sets malformed ones
aside with a reason, and does not let a quote that is never closed swallow the rows behind it: a quoted field
may go on over line ends only if it closes properly, and if no line in it would make a record by itself.
"""

import csv
import re
from collections.abc import Callable, Iterable, Iterator, Set
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from analytics.intake.lines import LONGEST_RECORD, Lines
from analytics.intake.reading import LONGEST_FIELD, Reading

KEPT_CHARACTERS = 10_000
BATCH = 20_000
ENOUGH_FIELDS = 5
LINE_END = "\r\n"
_LOOKS_DATED = re.compile(r"\s*\d{1,4}[-/. ]\d{1,2}[-/. ]\d{1,4}")


@dataclass(frozen=True)
class Rejected:
    """A record that can not be read as a row of the table.

    Parameters
    ----------
    line : int
        Physical line it begins on, 1-based.
    reason : str
        A code of reasons.toml.
    found : str
        Its beginning.
    fields : list of str
        As it stood, cut to `KEPT_CHARACTERS` in all.
    """

    line: int
    reason: str
    found: str
    fields: list[str]


def write_clean(
    reading: Reading,
    target: Path,
    reject: Callable[[list[Rejected]], None],
    *,
    undecodable: Set[int] = frozenset(),
    progress: Callable[[int], None] = lambda lines: None,
) -> int:
    """Write the well-formed records of a file to a clean one, each with its physical line behind it.

    Parameters
    ----------
    reading : Reading
        How the file is written; `path` is the UTF-8 file.
    target : Path
        The clean file: commas, double quotes, no header.
    reject : callable
        Takes the malformed records, a batch at a time.
    undecodable : set of int
        Physical lines whose bytes could not be decoded.
    progress : callable
        Told the number of lines read so far.

    Returns
    -------
    int
        Number of records, malformed ones among them.
    """
    good: list[list[str]] = []
    bad: list[Rejected] = []
    count = 0
    with (
        reading.path.open("r", encoding="utf-8-sig", newline="") as source,
        target.open("w", encoding="utf-8", newline="") as clean,
        _long_fields(),
    ):
        writer = csv.writer(clean, lineterminator=LINE_END)
        for record in records(source, reading, undecodable):
            if isinstance(record, Rejected):
                bad.append(record)
            else:
                good.append(record)
            count += 1
            if len(good) + len(bad) >= BATCH:
                writer.writerows(good)
                reject(bad)
                progress(int(good[-1][-1]) if good else bad[-1].line)
                good, bad = [], []
        writer.writerows(good)
        reject(bad)
    return count


def records(
    source: Iterable[str], reading: Reading, undecodable: Set[int] = frozenset()
) -> Iterator[list[str] | Rejected]:
    """Yield the records of a file: well-formed ones as fields with their physical line last, or why not.

    Parameters
    ----------
    source : iterable of str
        Physical lines from the first of the file, with their ends.
    reading : Reading
    undecodable : set of int
    """
    header = list(reading.header)
    lines = Lines(source)
    for _ in range(reading.skipped_lines):
        next(lines, None)
    lines.begin()
    for fields, reason in _parsed(lines, reading):
        if len(fields) <= 1 and not "".join(fields).strip():
            continue  # a blank line is no record
        reason = reason or _fault(fields, lines.taken, reading.width)
        if undecodable and not undecodable.isdisjoint(range(lines.line, lines.line + len(lines.taken))):
            reason = "undecodable"
        elif not reason and fields[0].strip() == header[0] and [each.strip() for each in fields] == header:
            reason = "repeated_header"
        if reason:
            yield Rejected(lines.line, reason, lines.taken[0].rstrip("\r\n")[:200], cut(fields))
        else:
            fields.append(str(lines.line))
            yield fields


def _parsed(lines: Lines, reading: Reading) -> Iterator[tuple[list[str], str | None]]:
    """Yield the fields of each record, and what is wrong with its quotes."""
    separator, quote = reading.separator, reading.quote
    reader = csv.reader(lines, delimiter=separator, quotechar=quote, strict=True)
    for first in lines:
        if quote not in first:
            yield first.rstrip("\r\n").split(separator), None
        else:
            lines.give_back(kept=0)
            reason = None
            try:
                fields = next(reader)
            except csv.Error:
                one_line = len(lines.taken) == 1 and not lines.exhausted
                fields = [] if lines.exhausted else _padded("".join(lines.taken), separator, quote)
                reason = None if fields else "text_after_quote" if one_line else "unclosed_quote"
            else:
                text = "".join(lines.taken)
                if separator + " " + quote in text or text.startswith(" "):
                    fields = _padded(text, separator, quote) or fields
            if not reason and len(lines.taken) > 1 and _swallows(lines.taken[1:], reading):
                reason = "unclosed_quote"
            if reason:
                lines.give_back(kept=1)
                fields = first.rstrip("\r\n").split(separator)
            yield fields, reason
        lines.begin()


def _padded(record: str, separator: str, quote: str) -> list[str]:
    """Fields of a record with spaces around its quotes, as DuckDB reads it; none if it is no record."""
    sign, parted = re.escape(quote), re.escape(separator)
    end = rf"({parted}|[\r\n]*\Z)"
    field = re.compile(rf" *{sign}((?:[^{sign}]|{sign}{sign})*+){sign} *{end}|([^{parted}\r\n]*+){end}")
    fields, at = [], 0
    while found := field.match(record, at):
        quoted, behind, plain, behind_plain = found.groups()
        if quoted is None and plain.lstrip(" ").startswith(quote):
            return []
        fields.append(plain if quoted is None else quoted.replace(quote * 2, quote))
        if (behind if quoted is not None else behind_plain) != separator:
            return fields
        at = found.end()
    return []


def cut(fields: list[str]) -> list[str]:
    """Cut the fields of a record so that `KEPT_CHARACTERS` are left in all."""
    if sum(map(len, fields)) <= KEPT_CHARACTERS:
        return fields
    kept = fields[:KEPT_CHARACTERS]
    return [field[: KEPT_CHARACTERS // len(kept)] for field in kept]


def _fault(fields: list[str], lines: list[str], width: int) -> str | None:
    if "\0" in lines[0] or any("\0" in line for line in lines[1:]):
        return "nul_bytes"
    if len(fields) != width:
        return "too_few_fields" if len(fields) < width else "too_many_fields"
    if sum(map(len, lines)) > LONGEST_FIELD and max(map(len, fields)) > LONGEST_FIELD:
        return "field_too_long"
    return None


def _swallows(lines: list[str], reading: Reading) -> bool:
    """Say whether one of the lines inside a quoted field would make a record by itself.

    Without a date in it, only a line of several fields is taken for one. The line on which a field really
    closes has its quote in what looks like its first field.
    """
    filled = [reading.columns.get(name, -1) for name, each in reading.table.columns.items() if each.filled]
    dated = [
        reading.columns[name]
        for name in reading.table.of_kind("timestamp", "date")
        if name in reading.columns
    ]
    if -1 in filled or (not dated and reading.width < ENOUGH_FIELDS):
        return False
    for line in lines:
        try:
            alone = next(
                csv.reader([line], delimiter=reading.separator, quotechar=reading.quote, strict=True), []
            )
        except csv.Error:
            continue
        if (
            len(alone) == reading.width
            and reading.quote not in alone[0]
            and all(alone[place].strip() for place in filled)
            and (not dated or any(_LOOKS_DATED.match(alone[place]) for place in dated))
        ):
            return True
    return False


@contextmanager
def _long_fields() -> Iterator[None]:
    """Let the csv module read fields up to the longest record; its limit holds for the whole process."""
    before = csv.field_size_limit(2 * LONGEST_RECORD)
    try:
        yield
    finally:
        csv.field_size_limit(before)
