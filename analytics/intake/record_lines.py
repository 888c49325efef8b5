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
