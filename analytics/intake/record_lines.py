"""On which physical line each record begins, in a file whose quoted fields hold line ends.

A line end inside quotes has an odd number of quote signs before it. Counting them finds every record at the
speed of reading, as long as quotes only enclose fields. Whether they do is checked on each record of several
lines by itself, and against the number of records that DuckDB reads; any doubt sends the file to the careful
reader.
"""

import io
import mmap
from dataclasses import replace

import numpy as np

from analytics.intake.careful import Rejected, records
from analytics.intake.reading import Reading

CHUNK_BYTES = 8 * 1024 * 1024
MOST_LONG_RECORDS = 100_000
LINE_FEED, RETURN = 10, 13


def find(reading: Reading) -> np.ndarray | None:
    """Find the physical line (1-based) of each record below the header.

    Parameters
    ----------
    reading : Reading
        Of a file whose lines all end in the same way.

    Returns
    -------
    array of int, shape (n_records,), or None
        None where quotes alone do not tell, or where records of several lines are many.
    """
    with reading.path.open("rb") as stream, mmap.mmap(stream.fileno(), 0, access=mmap.ACCESS_READ) as content:
        ends, inside = _line_ends(content, ord(reading.quote))
        if inside[-1]:
            return None
        last_lines = np.flatnonzero(~inside)
        first_lines = np.concatenate(([0], last_lines[:-1] + 1))
        begins = np.concatenate(([0], ends[last_lines[:-1]] + 1))
        if (last_lines[first_lines < reading.skipped_lines] >= reading.skipped_lines).any():
            return None  # a quote of the header, or of a line above it, seems to be closed by one in the rows
        kept = (first_lines >= reading.skipped_lines) & ~_blank(content, begins, ends[last_lines])
        first_lines, last_lines, begins = first_lines[kept], last_lines[kept], begins[kept]
        long = np.flatnonzero(last_lines > first_lines)
        if len(long) > MOST_LONG_RECORDS:
            return None
        for record in long:
            text = content[begins[record] : ends[last_lines[record]]].decode("utf-8")
            if not _is_one_record(text, reading):
                return None
    return first_lines + 1


def separators_fit(reading: Reading, records_read: int, *, by_quotes: bool) -> bool:
    """Say whether every record has as many separators as it needs.

    DuckDB passes over empty fields behind the last column. Such a row may have been shifted by a separator in
    one of its fields, so that its values stand under the wrong names.

    Parameters
    ----------
    reading : Reading
    records_read : int
    by_quotes : bool
        Separators inside quotes do not count. Otherwise each record is a line, and those that do not fit by
        all their separators are read one by one.
    """
    if len(reading.separator.encode()) > 1:
        return False
    with reading.path.open("rb") as stream, mmap.mmap(stream.fileno(), 0, access=mmap.ACCESS_READ) as content:
        start = 0
        for _ in range(reading.skipped_lines):
            start = content.find(b"\n", start) + 1 or len(content)
        wanted = records_read * (reading.width - 1)
        if by_quotes:
            return _separators(content, start, reading, ord(reading.quote)) == wanted
        return _separators(content, start, reading) == wanted or _lines_fit(content, start, reading)


def _separators(content: mmap.mmap, start: int, reading: Reading, quote: int | None = None) -> int:
    """Separators from a place on, where a quote is given only those outside quotes."""
    separator = reading.separator.encode()
    found = quotes_before = 0
    for begin in range(0, len(content), CHUNK_BYTES):
        chunk = content[begin : begin + CHUNK_BYTES]
        if quote is None:
            found += chunk.count(separator, max(start - begin, 0))
            continue
        codes = np.frombuffer(chunk, dtype=np.uint8)
        places, quotes = np.flatnonzero(codes == separator[0]), np.flatnonzero(codes == quote)
        places = places[np.searchsorted(places, start - begin) :]
        between = np.diff(np.searchsorted(places, quotes), prepend=0, append=len(places))
        found += int(between[quotes_before % 2 :: 2].sum())
        quotes_before += len(quotes)
    return found


def _lines_fit(content: mmap.mmap, start: int, reading: Reading) -> bool:
    content.seek(start)
    separator, wanted, read = reading.separator.encode(), reading.width - 1, 0
    while line := content.readline():
        if line.count(separator) != wanted and line.strip(b"\r\n"):
            read += 1
            if read > MOST_LONG_RECORDS or not _is_one_record(line.decode("utf-8"), reading):
                return False
    return True


def _line_ends(content: mmap.mmap, quote: int) -> tuple[np.ndarray, np.ndarray]:
    """Place of each line feed, and whether it stands inside quotes; the end of the file counts as one."""
    places, inside, quotes_before = [], [], 0
    for start in range(0, len(content), CHUNK_BYTES):
        chunk = np.frombuffer(content[start : start + CHUNK_BYTES], dtype=np.uint8)
        feeds, quotes = np.flatnonzero(chunk == LINE_FEED), np.flatnonzero(chunk == quote)
        places.append(feeds + start)
        inside.append((np.searchsorted(quotes, feeds) + quotes_before) % 2 == 1)
        quotes_before += len(quotes)
    if content[-1] != LINE_FEED:
        places.append(np.array([len(content)]))
        inside.append(np.array([quotes_before % 2 == 1]))
    return np.concatenate(places), np.concatenate(inside)


def _blank(content: mmap.mmap, begins: np.ndarray, ends: np.ndarray) -> np.ndarray:
    lengths = ends - begins
    blank = lengths == 0
    for record in np.flatnonzero(lengths == 1):
        blank[record] = content[begins[record]] == RETURN
    return blank


def _is_one_record(text: str, reading: Reading) -> bool:
    found = list(records(io.StringIO(text, newline=""), replace(reading, skipped_lines=0)))
    return len(found) == 1 and not isinstance(found[0], Rejected)
