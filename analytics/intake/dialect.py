"""Separator, quote sign and header line of a file, by a rule that can be told.

Every separator is tried on each of the first lines. The line and separator with which most cells are known
header words win; then those with most cells. No value is looked at, so no odd row can tip the balance.
"""

import csv
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from functools import cache
from io import StringIO
from itertools import islice

from analytics.intake.contract import IGNORED_HEADERS, tables
from analytics.intake.headers import plain, without_unit

SEPARATORS = (",", ";", "\t", "|")
QUOTES = ('"', "'")
HEAD_LINES = 40
SEPARATOR_NAMES = {",": "comma", ";": "semicolon", "\t": "tab", "|": "pipe"}


@dataclass(frozen=True)
class Dialect:
    """How the records of a file are written.

    Parameters
    ----------
    separator, quote : str
        One character each.
    header_line : int
        Physical line of the header, 1-based.
    header_lines : int
        How many physical lines the header takes up.
    header : tuple of str
        The names as written, spaces around them taken off.
    known_words : int
        How many of them are header words of the contract or the mapping.
    """

    separator: str
    quote: str
    header_line: int
    header_lines: int
    header: tuple[str, ...]
    known_words: int

    @property
    def skipped_lines(self) -> int:
        """Physical lines before the first record."""
        return self.header_line + self.header_lines - 1


@cache
def contract_words() -> frozenset[str]:
    """Every header that the contract knows, plain."""
    known = {plain(name) for name in IGNORED_HEADERS}
    for table in tables().values():
        for column in table.columns.values():
            known.update((plain(column.name), *column.headers))
    return frozenset(known)


def decide(head: str, *, more_words: Collection[str] = (), separator: str | None = None) -> Dialect:
    """Decide how a file is written, on its first lines.

    Parameters
    ----------
    head : str
        Beginning of the file.
    more_words : collection of str
        Header words besides the contract's, plain: those of a mapping.
    separator : str, optional
        The separator that the mapping names.
    """
    words = contract_words() | set(more_words)
    best: tuple[tuple[int, int, int], Dialect] | None = None
    for order, sign in enumerate((separator,) if separator else SEPARATORS):
        quote = _quote(head, sign)
        for line, taken, cells in _records(head, sign, quote):
            known = sum(plain(without_unit(cell)[0]) in words or plain(cell) in words for cell in cells)
            rank = (known, len(cells) if known else 0, -order)
            if best is None or rank > best[0]:
                header = tuple(cell.strip() for cell in cells)
                best = rank, Dialect(sign, quote, line, taken, header, known)
    if best is None or best[1].known_words == 0:
        return _by_width(head, separator)
    return best[1]


def _records(head: str, separator: str, quote: str) -> Iterable[tuple[int, int, list[str]]]:
    lines = list(islice(StringIO(head, newline=""), HEAD_LINES))
    reader = csv.reader(lines, delimiter=separator, quotechar=quote, skipinitialspace=True)
    read = 0
    while True:
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error:
            read = reader.line_num
            continue
        first, read = read + 1, reader.line_num
        if any(cell.strip() for cell in cells):
            yield first, read - first + 1, cells


def _quote(head: str, separator: str) -> str:
    """Quote sign that stands most often beside a separator or a line end; the double quote unless beaten."""
    counts = {
        sign: head.count(separator + sign) + head.count(sign + separator) + head.count("\n" + sign)
        for sign in QUOTES
    }
    return max(QUOTES, key=lambda sign: (counts[sign], sign == '"'))


def _by_width(head: str, separator: str | None) -> Dialect:
    """Without any known word: the separator with which the first lines have the same number of cells."""
    choices = []
    for order, sign in enumerate((separator,) if separator else SEPARATORS):
        quote = _quote(head, sign)
        records = list(_records(head, sign, quote))
        if records:
            line, taken, cells = records[0]
            alike = sum(len(each) == len(cells) for _, _, each in records) / len(records)
            header = tuple(cell.strip() for cell in cells)
            choices.append(
                ((len(cells) > 1, alike, len(cells), -order), Dialect(sign, quote, line, taken, header, 0))
            )
    if not choices:
        return Dialect(separator or ",", '"', 1, 1, (), 0)
    return max(choices, key=lambda choice: choice[0])[1]
