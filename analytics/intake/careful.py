"""Reading records one by one, where a file is not simply one record a line.

The fast way lets DuckDB read the file. This one knows the physical line of every record, sets malformed ones
aside with a reason, and does not let a quote that is never closed swallow the rows behind it: a quoted field
may go on over line ends only if it closes properly, and if no line in it would make a record by itself.
"""

import csv
import re
from collections.abc import Callable, Collection, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from analytics.intake.reading import LONGEST_FIELD, Reading

LONGEST_RECORD = 16_000_000
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
    undecodable: Collection[int] = (),
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
    undecodable : collection of int
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
    source: Iterable[str], reading: Reading, undecodable: Collection[int] = ()
) -> Iterator[list[str] | Rejected]:
    """Yield the records of a file: well-formed ones as fields with their physical line last, or why not.

    Parameters
    ----------
    source : iterable of str
        Physical lines from the first of the file, with their ends.
    reading : Reading
    undecodable : collection of int
    """
    header = list(reading.header)
    feed = _Feed(source)
    for _ in range(reading.skipped_lines):
        next(feed, None)
    reader = csv.reader(feed, delimiter=reading.separator, quotechar=reading.quote, strict=True)
    while True:
        feed.begin()
        reason = None
        try:
            fields = next(reader)
        except StopIteration:
            return
        except csv.Error:
            reason = "text_after_quote" if len(feed.taken) == 1 and not feed.exhausted else "unclosed_quote"
        else:
            if not fields or (len(fields) == 1 and not fields[0].strip()):
                continue
            if len(feed.taken) > 1 and _swallows(feed.taken[1:], reading):
                reason = "unclosed_quote"
        if reason:
            feed.rewind()
            fields = feed.taken[0].rstrip("\r\n").split(reading.separator)
        reason = reason or _fault(fields, feed.taken, reading.width)
        if undecodable and any(line in undecodable for line in range(feed.line, feed.line + len(feed.taken))):
            reason = "undecodable"
        elif not reason and [field.strip() for field in fields] == header:
            reason = "repeated_header"
        if reason:
            yield Rejected(feed.line, reason, feed.taken[0].rstrip("\r\n")[:200], cut(fields))
        else:
            fields.append(str(feed.line))
            yield fields


def cut(fields: list[str]) -> list[str]:
    """Cut the fields of a record so that `KEPT_CHARACTERS` are left in all."""
    if sum(map(len, fields)) <= KEPT_CHARACTERS:
        return fields
    kept = fields[:KEPT_CHARACTERS]
    return [field[: KEPT_CHARACTERS // len(kept)] for field in kept]


def _fault(fields: list[str], lines: list[str], width: int) -> str | None:
    if any("\0" in line for line in lines):
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


class _Feed:
    """Physical lines for the csv reader, which can be given back.

    Attributes
    ----------
    line : int
        Physical line of the first line taken since `begin`.
    taken : list of str
        Lines taken since then.
    exhausted : bool
        The reader asked for more than there is, or than a record may have.
    """

    def __init__(self, source: Iterable[str]) -> None:
        self._source = iter(source)
        self._given_back: list[str] = []
        self._characters = 0
        self.line = 1
        self.taken: list[str] = []
        self.exhausted = False

    def __iter__(self) -> "_Feed":
        return self

    def __next__(self) -> str:
        if self._characters > LONGEST_RECORD:
            self.exhausted = True
            raise StopIteration
        if self._given_back:
            line = self._given_back.pop()
        else:
            line = next(self._source, "")
            if not line:
                self.exhausted = True
                raise StopIteration
        self.taken.append(line)
        self._characters += len(line)
        return line

    def begin(self) -> None:
        """Start a new record behind the lines taken so far."""
        self.line += len(self.taken)
        self.taken = []
        self._characters = 0
        self.exhausted = False

    def rewind(self) -> None:
        """Give back all lines taken but the first."""
        self._given_back.extend(reversed(self.taken[1:]))
        del self.taken[1:]


@contextmanager
def _long_fields() -> Iterator[None]:
    """Let the csv module read fields up to the longest record; its limit holds for the whole process."""
    before = csv.field_size_limit(2 * LONGEST_RECORD)
    try:
        yield
    finally:
        csv.field_size_limit(before)
