"""A file, looked at but not read yet: its bytes, how it is written, and its header."""

import csv
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace
from io import StringIO
from itertools import islice
from pathlib import Path

from analytics.errors import BadFile, BadMapping
from analytics.intake import dialect, encodings, scanning
from analytics.intake.dialect import Dialect
from analytics.intake.encodings import Encoding
from analytics.intake.headers import plain
from analytics.intake.mapping import Mapping
from analytics.intake.scanning import Scan

HEAD_BYTES = 512 * 1024
SAMPLE_ROWS = 500
MOST_BREAKS = 3


@dataclass(frozen=True)
class Sheet:
    """A file before its records are read.

    Parameters
    ----------
    path : Path
        The file as given.
    scan : Scan
    encoding : Encoding
    dialect : Dialect
    sample : tuple of rows
        Its first well-formed records.
    messages : tuple of str
        What a person should know about how it is written.
    called : str
        Its name for people, where the one on the disk is another.
    """

    path: Path
    scan: Scan
    encoding: Encoding
    dialect: Dialect
    sample: tuple[tuple[str, ...], ...]
    messages: tuple[str, ...]
    called: str = ""

    @property
    def name(self) -> str:
        """Name without folders: the one it is called by, else that of the path."""
        return self.called or self.path.name


def look_at(
    path: Path, mapping: Mapping, progress: Callable[[float], None] | None = None, called: str = ""
) -> Sheet:
    """Read a file's bytes once and decide how it is written.

    Parameters
    ----------
    path : Path
    mapping : Mapping
    progress : callable, optional
    called : str
        Name of the file for people, where the one on the disk is another.

    Raises
    ------
    BadFile
        When it is no text, or has no header.
    """
    try:
        return _look_at(path, mapping, progress, called)
    except (BadFile, BadMapping) as problem:
        if called:
            raise type(problem)(str(problem).replace(path.name, called)) from None
        raise


def _look_at(path: Path, mapping: Mapping, progress: Callable[[float], None] | None, called: str) -> Sheet:
    scanned = scanning.scan(path, progress)
    encoding = encodings.decide(path, scanned, mapping.encoding)
    head = head_of(path, encoding)
    words = {plain(each) for each in mapping.headers()}
    decided = dialect.decide(head, more_words=words, separator=mapping.separator)
    if not any(decided.header):
        raise BadFile(
            f"{path.name} has no header line: its first lines are blank. The first line names the columns."
        )
    if _swallows_rows(head, decided):
        last = decided.header_line + decided.header_lines - 1
        raise BadFile(
            f"The header of {path.name} in line {decided.header_line} runs on to line {last} and would take "
            f"rows for the name of a column: a quote ({decided.quote}) in it is not closed. Close or remove "
            f"it, and bring the file again."
        )
    messages = list(encoding.messages)
    if _rows_end_with_separator(head, decided):
        decided = replace(decided, header=(*decided.header, ""))
        messages.append("every row ends with a separator that the header lacks: an empty last column")
    if decided.header_line > 1:
        above = decided.header_line - 1
        messages.append(
            f"the header is line {decided.header_line}; the {above} lines above it were passed over"
        )
    return Sheet(path, scanned, encoding, decided, _sample(head, decided), tuple(messages), called)


def _swallows_rows(head: str, decided: Dialect) -> bool:
    """Say whether a name in the header holds what must be rows; a few line breaks are how sheets wrap."""
    if decided.header_lines == 1:
        return False
    lines = islice(StringIO(head, newline=""), decided.header_line - 1, decided.skipped_lines)
    try:
        next(csv.reader(lines, delimiter=decided.separator, quotechar=decided.quote, strict=True))
    except csv.Error:
        return True  # text behind a closing quote: it is the end of another field
    return any(
        cell.count("\n") > MOST_BREAKS or ("\n" in cell and cell.count(decided.separator) >= 2)
        for cell in decided.header
    )


def head_of(path: Path, encoding: Encoding) -> str:
    """First half megabyte of a file, as text, cut at a line end where there is one."""
    with path.open("rb") as stream:
        raw = stream.read(HEAD_BYTES)
        whole = not stream.read(1)
    name = "utf-8-sig" if encoding.name == "utf-8" else encoding.name
    text = raw.decode(name, errors="replace")
    if whole or "\n" not in text:
        return text
    return text[: text.rindex("\n") + 1]


def _rows_end_with_separator(head: str, decided: Dialect) -> bool:
    """Say whether the first rows have one field more than the header, a blank one, and none is as wide.

    A single row is no custom of the file: a separator in a text may as well have shifted it.
    """
    rows, wide = _rows(head, decided), len(decided.header)
    longer = [row for row in rows if len(row) == wide + 1]
    any_filled = any(row[-1].strip() for row in longer)
    return len(longer) > 1 and not any_filled and not any(len(row) == wide for row in rows)


def _sample(head: str, decided: Dialect) -> tuple[tuple[str, ...], ...]:
    return tuple(row for row in _rows(head, decided) if len(row) == len(decided.header))


def _rows(head: str, decided: Dialect) -> list[tuple[str, ...]]:
    lines = islice(StringIO(head, newline=""), decided.skipped_lines, decided.skipped_lines + SAMPLE_ROWS)
    rows = []
    for line in lines:
        with suppress(csv.Error):  # a field longer than the csv module reads
            rows.append(
                tuple(next(csv.reader([line], delimiter=decided.separator, quotechar=decided.quote), ()))
            )
    return rows
