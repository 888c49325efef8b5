"""The records of one file, typed and judged on their own, in the temporary table `staged`."""

from collections.abc import Callable, Collection
from contextlib import suppress
from dataclasses import dataclass, field, replace
from pathlib import Path

import duckdb
import polars as pl

from analytics import queries
from analytics.errors import NeedsAnswer
from analytics.intake.careful import LINE_END, Rejected, write_clean
from analytics.intake.mapping import TableMapping
from analytics.intake.reading import Reading
from analytics.intake.scanning import Scan
from analytics.intake.settling import Settling

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
    queries.run(connection, "staging/macros")


def stage(
    connection: duckdb.DuckDBPyConnection,
    name: str,
    reading: Reading,
    scanned: Scan,
    mapping: TableMapping,
    *,
    file_id: int,
    scratch: Path,
    undecodable: Collection[int] = (),
    progress: Callable[[float], None] = lambda share: None,
) -> Staged:
    """Read a file into `staged`: at once where every record is one line, else record by record.

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
    undecodable : collection of int
        Physical lines whose bytes could not be decoded.
    progress : callable
        Told the share done.

    Raises
    ------
    NeedsAnswer
        When dates or numbers can be read in two ways.
    """
    if scanned.line_end and not scanned.nul_bytes and not undecodable:
        try:
            staged = _settle_and_read(connection, name, reading, mapping)
        except duckdb.InvalidInputException:
            pass  # malformed for DuckDB: the careful reader says where, and why
        else:
            if is_one_line_each(connection, reading, scanned):
                staged.rows = scanned.lines - reading.skipped_lines
                return staged
    clean = replace(
        reading,
        path=scratch / "clean.csv",
        skipped_lines=0,
        separator=",",
        quote='"',
        line_end=LINE_END,
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


def is_one_line_each(connection: duckdb.DuckDBPyConnection, reading: Reading, scanned: Scan) -> bool:
    """Say whether every staged record is one physical line.

    No record takes up less than a line. As many records as lines means that each is one, and that the number
    of a record tells its line.
    """
    rows = queries.frame(connection, "staging/staged_rows").item()
    return rows == scanned.lines - reading.skipped_lines


def settle_only(
    connection: duckdb.DuckDBPyConnection, name: str, reading: Reading, *, scratch: Path
) -> tuple[dict[str, str], list[str]]:
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
    dict of str to str, list of str
        Date columns whose order of day and month the values decide; the questions that are open.
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
    return settling.orders, list(settling.open.values())


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
    rows = [(each.line, each.reason, each.found, each.fields) for each in batch]
    connection.register("rejected", pl.DataFrame(rows, schema=_REJECTED, orient="row"))
    queries.run(connection, "staging/add_rejected", {"file_id": file_id})
    connection.unregister("rejected")
