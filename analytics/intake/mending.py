"""Rows that were set aside, mended: loaded again as a file of their own, and then listed no longer."""

import csv
import tempfile
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from analytics import queries
from analytics.errors import BadQuestion, NeedsAnswer
from analytics.intake.contract import IGNORED_HEADERS
from analytics.intake.loading import load_files
from analytics.intake.mapping import Mapping as Reading
from analytics.intake.mapping import TableMapping
from analytics.intake.report import LoadReport
from analytics.store import WAIT_SECONDS, Store

Key = tuple[int, int]
Progress = Callable[[str, float], None]
ENCODING = "utf-8"


def mend(
    store: Store,
    rows: Mapping[Key, Sequence[str]],
    *,
    order: str = "",
    progress: Progress | None = None,
    wait_seconds: float = WAIT_SECONDS,
) -> list[LoadReport]:
    """Load mended rows, read as the file that they came from was read.

    Parameters
    ----------
    store : Store
    rows : mapping of (int, int) to sequence of str
        By number of the file and line in it: all fields of the row, as they should be. Rows that are as they
        stood are left where they are.
    order : str
        "day first" or "month first", for dates that these few rows leave open; "" asks then.
    progress : callable, optional
        Called with a stage and the share of it done.
    wait_seconds : float
        How long to wait for another load.

    Returns
    -------
    list of LoadReport
        One for each file that rows came from. Rows that still can not be loaded are set aside anew.

    Raises
    ------
    BadQuestion
        When nothing was mended, or a row is not set aside any more.
    BadFile, NeedsAnswer, StoreProblem
        As `load_files`; the rows of files before that one are loaded then.
    """
    reports: list[LoadReport] = []
    for file_id in sorted({number for number, _ in rows}):
        lines = {line: list(fields) for (number, line), fields in rows.items() if number == file_id}
        report = _mend_file(store, file_id, lines, order, progress, wait_seconds)
        reports += [report] if report else []
    if not reports:
        raise BadQuestion("No row was changed, so that there is nothing to load.")
    return reports


def _mend_file(
    store: Store,
    file_id: int,
    lines: Mapping[int, Sequence[str]],
    order: str,
    progress: Progress | None,
    wait_seconds: float,
) -> LoadReport | None:
    cursor = store.reader().cursor()
    found = queries.frame(cursor, "staging/loaded_file", {"file_id": file_id}).to_dicts()
    rows = queries.frame(cursor, "staging/set_aside_rows", {"file_id": file_id})
    if not found or not lines.keys() <= set(rows["line"]):
        raise BadQuestion(
            "A row is not set aside any more: somebody mended it, or took its file back. Open the page anew."
        )
    file = found[0]
    before = len(own_columns(file["header"]))
    stood = {
        line: own_fields(file["header"], fields) for line, fields in rows.select("line", "fields").iter_rows()
    }
    lines = {line: fields for line, fields in lines.items() if list(fields) != stood[line]}
    if not lines:
        return None
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "mended.csv"
        with path.open("w", encoding=ENCODING, newline="") as out:
            writer = csv.writer(out)
            writer.writerow([*IGNORED_HEADERS, *file["header"][-before:]])
            writer.writerows([file_id, line, "", *fields] for line, fields in sorted(lines.items()))
        reading = replace(
            Reading.from_toml(file["mapping"]), extracted=None, encoding=ENCODING, separator=","
        )
        try:
            return _load(store, path, file, reading, progress, wait_seconds)
        except NeedsAnswer as problem:
            if not order or not problem.columns:
                raise
            table = reading.tables.get(file["table_name"], TableMapping())
            dated = replace(table, dates={**table.dates, **dict.fromkeys(problem.columns, order)})
            reading = replace(reading, tables={**reading.tables, file["table_name"]: dated})
            return _load(store, path, file, reading, progress, wait_seconds)


def _load(
    store: Store,
    path: Path,
    file: Mapping[str, Any],
    reading: Reading,
    progress: Progress | None,
    wait_seconds: float,
) -> LoadReport:
    return load_files(
        store,
        [path],
        mapping=reading,
        table=file["table_name"],
        source=file["source"],
        extracted=file["extracted_on"],
        progress=progress,
        called=f"mended rows of {file['file_name']}",
        wait_seconds=wait_seconds,
    )


def own_columns(header: Sequence[str]) -> list[str]:
    """Columns of a file without those that an export of rows set aside puts before them."""
    return [name for name in header if name not in IGNORED_HEADERS]


def own_fields(header: Sequence[str], fields: Sequence[str]) -> list[str]:
    """Fields of a row set aside without those before the file's own columns; at least one a column."""
    mine = list(fields[len(header) - len(own_columns(header)) :])
    return mine + [""] * (len(own_columns(header)) - len(mine))
