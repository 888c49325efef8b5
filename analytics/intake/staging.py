"""The records of one file, typed and judged on their own, in the temporary table `staged`."""

from collections.abc import Callable, Set
from contextlib import suppress
from dataclasses import dataclass, field, replace
from pathlib import Path

import duckdb
import numpy as np
import polars as pl

from analytics import queries
from analytics.errors import NeedsAnswer
from analytics.intake import masking, record_lines
from analytics.intake.careful import LINE_END, Rejected, write_clean
from analytics.intake.lines import LONGEST_RECORD
from analytics.intake.mapping import TableMapping
from analytics.intake.masking import mask
from analytics.intake.reading import Reading
from analytics.intake.scanning import Scan
from analytics.intake.settling import Settling

HEAD_BYTES = 1024 * 1024
_REJECTED = [
    ("line", pl.Int64()),
    ("reason", pl.String()),
    ("found", pl.String()),
    ("fields", pl.List(pl.String)),
]


@dataclass
class Staged:
    """A file that stands in `staged`.

    Parameters
    ----------
    reading : Reading
        How it was read in the end.
    rows : int
        Records in the file, as counted on its lines or by the careful reader.
    rejected : dict of str to int
        Malformed records by reason; they are in loads.set_aside already.
    day_first : bool or None
        Order of day and month in its dates, where they agree on one.
    messages : list of str
        What a person should know about how it was read.
    """

    reading: Reading
    rows: int = 0
    rejected: dict[str, int] = field(default_factory=dict)
    day_first: bool | None = None
    messages: list[str] = field(default_factory=list)


def prepare(connection: duckdb.DuckDBPyConnection) -> None:
    """Make the macros that the staging statements use."""
    queries.run(connection, "staging/record_lines")
    queries.run(connection, "staging/macros")
    masking.prepare(connection)


def stage(
    connection: duckdb.DuckDBPyConnection,
    name: str,
    reading: Reading,
    scanned: Scan,
    mapping: TableMapping,
    *,
    file_id: int,
    scratch: Path,
    undecodable: Set[int] = frozenset(),
    progress: Callable[[float], None] = lambda share: None,
) -> Staged:
    """Read a file into `staged`: at once where the line of every record is certain, else record by record.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
    name : str
        The file, for messages.
    reading : Reading
    scanned : Scan
        Of the file at `reading.path`.
    mapping : TableMapping
    file_id : int
        Under which malformed records are set aside.
    scratch : Path
        Folder for a clean copy.
    undecodable : set of int
        Physical lines whose bytes could not be decoded.
    progress : callable
        Told the share done.

    Raises
    ------
    NeedsAnswer
        When dates or numbers can be read in two ways.
    """
    if scanned.line_end and not scanned.has_nul and not undecodable:
        staged = _at_once(connection, name, reading, scanned, mapping)
        if staged:
            return staged
        queries.run(connection, "staging/record_lines")
    clean = replace(
        reading,
        path=scratch / "clean.csv",
        skipped_lines=0,
        separator=",",
        quote='"',
        line_end=LINE_END,
        longest_line=4 * LONGEST_RECORD,
        numbered=True,
    )
    rejected: dict[str, int] = {}

    def reject(batch: list[Rejected]) -> None:
        if batch:
            _set_aside(connection, file_id, batch)
        for each in batch:
            rejected[each.reason] = rejected.get(each.reason, 0) + 1

    rows = write_clean(
        reading,
        clean.path,
        reject,
        undecodable=undecodable,
        progress=lambda line: progress(min(line / max(scanned.lines, 1), 1.0)),
    )
    staged = _settle_and_read(connection, name, clean, mapping)
    staged.rows, staged.rejected = rows, rejected
    return staged


def _at_once(
    connection: duckdb.DuckDBPyConnection, name: str, reading: Reading, scanned: Scan, mapping: TableMapping
) -> Staged | None:
    """Let DuckDB read the file; None where a record is malformed, or its line is not certain.

    No record takes up less than a line. As many records as lines means that each is one, and that the number
    of a record tells its line. Where quoted fields hold line ends, the quotes tell where each record begins.
    Its separators then tell whether the record has a field too many.
    """
    with reading.path.open("rb") as stream:
        quoted = reading.quote.encode() in stream.read(HEAD_BYTES)
    for by_quotes in (True, False) if quoted else (False, True):
        expected = scanned.lines - reading.skipped_lines
        queries.run(connection, "staging/record_lines")
        if by_quotes:
            lines = record_lines.find(reading)
            if lines is None:
                continue
            if len(lines) != expected:
                expected = len(lines)
                _note_lines(connection, lines)
        try:
            staged = _settle_and_read(connection, name, reading, mapping)
        except (duckdb.InvalidInputException, NeedsAnswer):
            return None  # malformed, or open because of it: the careful reader says where, and why
        counted = queries.frame(connection, "staging/staged_rows").item()
        if counted == expected and record_lines.separators_fit(reading, expected, by_quotes=by_quotes):
            staged.rows = expected
            return staged
    return None


def _note_lines(connection: duckdb.DuckDBPyConnection, lines: np.ndarray) -> None:
    begins = pl.DataFrame({"nth": np.arange(1, len(lines) + 1), "line": lines})
    connection.register("record_begins", begins)
    queries.run(connection, "staging/add_record_lines")
    connection.unregister("record_begins")


def settle_only(
    connection: duckdb.DuckDBPyConnection, name: str, reading: Reading, *, scratch: Path
) -> tuple[dict[str, str], dict[str, str]]:
    """Settle the dates and numbers of a file without staging it.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        With the macros of `prepare`; nothing is written to it.
    name : str
    reading : Reading
    scratch : Path
        Folder for a clean copy.

    Returns
    -------
    dict of str to str, dict of str to str
        Date columns whose order of day and month the values decide; by column, the questions that are open.
    """
    clean = replace(
        reading,
        path=scratch / "clean.csv",
        skipped_lines=0,
        separator=",",
        quote='"',
        line_end=LINE_END,
        numbered=True,
    )
    write_clean(reading, clean.path, lambda rejected: None)
    settling = Settling(connection, name, clean, TableMapping())
    with suppress(NeedsAnswer):
        _by_sample(settling, clean)
    return settling.orders, settling.open


def _by_sample(settling: Settling, reading: Reading) -> None:
    with reading.path.open(encoding="utf-8-sig", newline="") as lines:
        settling.by_sample(lines)


def _settle_and_read(
    connection: duckdb.DuckDBPyConnection, name: str, reading: Reading, mapping: TableMapping
) -> Staged:
    settling = Settling(connection, name, reading, mapping)
    _by_sample(settling, reading)
    _read(connection, reading)
    if settling.over_whole_file(_unread(connection, reading)):
        _read(connection, reading)
    orders = set(settling.orders.values())
    day_first = orders == {"day first"} if len(orders) == 1 else None
    return Staged(reading, day_first=day_first, messages=settling.messages)


def _read(connection: duckdb.DuckDBPyConnection, reading: Reading) -> None:
    queries.run(connection, f"staging/{reading.table.name}", reading.values())


def _unread(connection: duckdb.DuckDBPyConnection, reading: Reading) -> list[str]:
    columns = queries.frame(connection, "staging/unread")["column_name"].to_list()
    if "reading" in reading.columns and queries.frame(connection, "staging/unread_readings").item():
        columns.append("reading")
    return columns


def _set_aside(connection: duckdb.DuckDBPyConnection, file_id: int, batch: list[Rejected]) -> None:
    rows = [
        (each.line, each.reason, each.found and mask(each.found), [mask(text) for text in each.fields])
        for each in batch
    ]
    connection.register("rejected", pl.DataFrame(rows, schema=_REJECTED, orient="row"))
    queries.run(connection, "staging/add_rejected", {"file_id": file_id})
    connection.unregister("rejected")
