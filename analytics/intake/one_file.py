"""One file on its way into the records: staged, judged, written, coded, and accounted for."""

import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

import duckdb

from analytics import queries
from analytics.catalogue import Catalogue
from analytics.errors import BadFile, NeedsAnswer
from analytics.intake import coding, encodings, extraction, judging, mended, scanning, staging
from analytics.intake.extraction import Extraction
from analytics.intake.mapping import TableMapping
from analytics.intake.order import Order
from analytics.intake.reading import Reading
from analytics.intake.report import FileReport
from analytics.intake.scanning import Scan

COUNTED_TABLES = ("checks", "parts")
"""Tables whose equal rows are told apart by counting them: an id can not stand twice in a file."""


@dataclass(frozen=True)
class Load:
    """The load that a file is part of.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        On the draft of the new generation.
    load_id : int
    began_at : datetime
    today : date
        Later dates are set aside.
    first : bool
        The store was empty before.
    catalogue : Catalogue
    scratch : Path
        Folder for copies.
    """

    connection: duckdb.DuckDBPyConnection
    load_id: int
    began_at: datetime
    today: date
    first: bool
    catalogue: Catalogue
    scratch: Path


def load_file(load: Load, order: Order, file_id: int, progress: Callable[[str, float], None]) -> FileReport:
    """Bring the rows of one file into the records and account for each.

    Raises
    ------
    BadFile, NeedsAnswer
        When the file can not be read for certain.
    """
    began = time.monotonic()
    progress("staging", 0.0)
    reading, scanned = _readable(load, order)
    staged = staging.stage(
        load.connection,
        order.sheet.name,
        reading,
        scanned,
        order.mapping.tables.get(reading.table.name, TableMapping()),
        file_id=file_id,
        scratch=load.scratch,
        undecodable=order.sheet.encoding.undecodable,
        progress=lambda share: progress("staging", 0.5 * share),
    )
    judging.begin(load.connection)
    if reading.table.name == "checks":
        judging.unknown_units(load.connection)
    taken, message = _extraction(load, order)
    values = _values(load, order, staged.reading, file_id, taken) | {"malformed": list(staged.rejected)}
    judged = judging.judge(load.connection, values)
    report = _report(order, file_id, judged, staged)
    report.messages += [message] if message else []
    report.messages += [] if report.rows else ["it has no rows below its header"]
    _refuse_vain_extract(load, order, report, taken, values)
    progress("writing", 0.5)
    _write(load, order, values, report)
    progress("coding", 0.8)
    report.unrecognised = coding.code(
        load.connection, load.catalogue, reading.table, file_id, order.mapping.words, staged.day_first
    )
    report.check()
    _note_file(load, order, report, taken, values)
    mended.note(load.connection, order.sheet.path, order.sheet.encoding.name, file_id)
    report.seconds = round(time.monotonic() - began, 3)
    return report


def _readable(load: Load, order: Order) -> tuple[Reading, Scan]:
    """Say how the file is read; where it is no UTF-8, its copy."""
    sheet, path, scanned = order.sheet, order.sheet.path, order.sheet.scan
    if sheet.encoding.needs_copy:
        path = load.scratch / "utf8.csv"
        encodings.write_copy(sheet.path, sheet.encoding, path)
        scanned = scanning.scan(path)
    reading = Reading(
        table=order.recognised.table,
        path=path,
        header=sheet.dialect.header,
        columns=dict(order.recognised.columns),
        skipped_lines=sheet.dialect.skipped_lines,
        separator=sheet.dialect.separator,
        quote=sheet.dialect.quote,
        line_end=scanned.line_end or "\n",
        today=load.today,
        extracted=order.extraction.at if order.extraction.known_from in ("given", "mapping") else None,
        units=dict(order.recognised.units),
    )
    return reading, scanned


def _extraction(load: Load, order: Order) -> tuple[Extraction, str | None]:
    """When the staged file was extracted, after setting aside what lies far after all else."""
    taken, message = order.extraction, None
    if extraction.contradicted(taken, judging.latest(load.connection)):
        taken = extraction.UNKNOWN
        message = "the date in the file name is not taken for its extraction: the file has later times"
    if taken.at is None:
        judging.far_after_others(load.connection, order.recognised.table.name, order.source)
    return taken, message


def _values(load: Load, order: Order, reading: Reading, file_id: int, taken: Extraction) -> dict[str, Any]:
    latest_at = judging.latest(load.connection)
    known_from, known_to = taken.surely(latest_at, load.began_at)
    return reading.values() | {
        "load_id": load.load_id,
        "file_id": file_id,
        "source": order.source,
        "latest_at": latest_at,
        "known_from": known_from,
        "known_to": known_to,
        "ids_are_unique": reading.table.name not in COUNTED_TABLES,
    }


def _report(order: Order, file_id: int, judged: judging.Judged, staged: staging.Staged) -> FileReport:
    reasons = dict(staged.rejected)
    for code, rows in judged.set_aside.items():
        reasons[code] = reasons.get(code, 0) + rows
    return FileReport(
        file=order.sheet.name,
        table=order.recognised.table.name,
        source=order.source,
        file_id=file_id,
        rows=staged.rows,
        loaded=judged.verdicts.get("new", 0),
        updated=judged.verdicts.get("updated", 0),
        repeated_exact=judged.verdicts.get("repeated_exact", 0),
        repeated_older=judged.verdicts.get("repeated_older", 0),
        set_aside=sum(reasons.values()),
        reasons=dict(sorted(reasons.items(), key=lambda item: -item[1])),
        messages=[*order.messages(), *staged.messages],
    )


def _refuse_vain_extract(
    load: Load, order: Order, report: FileReport, taken: Extraction, values: dict[str, Any]
) -> None:
    """Stop a full extract that would withdraw rows blindly."""
    if not order.full_extract or load.first:
        return
    known = queries.frame(load.connection, "staging/live_rows", values)["rows"][0]
    if known and not report.rows:
        raise BadFile(
            f"{order.sheet.name} has no rows below its header. Taken as a full extract it would withdraw all "
            f"{known:,} known {order.recognised.table.name} of source '{order.source}'. Check the file."
        )
    if known and taken.at is None:
        raise NeedsAnswer(
            f"{order.sheet.name} is to be a full extract, and {known:,} {order.recognised.table.name} of "
            f"source '{order.source}' are known. Whether those it lacks are gone can not be told without the "
            f"day the file was extracted. Load it with --extracted, as in --extracted 2026-03-01."
        )


def _write(load: Load, order: Order, values: dict[str, Any], report: FileReport) -> None:
    connection = load.connection
    if not load.first:
        queries.run(connection, "staging/make_touched")
        queries.run(connection, "staging/touched_before", values)
    # also in a first load: an earlier file of the same load may have brought the row
    queries.run(connection, "staging/keep_replaced", values)
    queries.run(connection, "staging/replaced", values)
    queries.run(connection, f"staging/write_{order.recognised.table.name}", values)
    queries.run(connection, "staging/confirmed", values)
    if order.full_extract:
        queries.run(connection, "staging/withdrawn", values)
        report.withdrawn = queries.frame(connection, "staging/live_rows", values)["withdrawn"][0]
    if not load.first:
        queries.run(connection, "staging/touched_after", values)


def _note_file(
    load: Load, order: Order, report: FileReport, taken: Extraction, values: dict[str, Any]
) -> None:
    facts = {
        "file_name": order.sheet.name,
        "sha256": order.sheet.scan.sha256,
        "reading_hash": order.reading_hash,
        "extracted_on": taken.at,
        "extracted_from": taken.known_from,
        "full_extract": order.full_extract,
        "encoding": order.sheet.encoding.name,
        "separator": order.sheet.dialect.separator,
        "header": list(order.sheet.dialect.header),
        "mapping": order.mapping.to_toml(),
    }
    counts = {
        name: getattr(report, name)
        for name in (
            "rows",
            "loaded",
            "updated",
            "repeated_exact",
            "repeated_older",
            "set_aside",
            "withdrawn",
        )
    }
    queries.run(load.connection, "staging/file", values | facts | counts)
