"""One file on its way into the records: staged, judged, written, coded, and accounted for."""

import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import duckdb

from analytics import queries
from analytics.catalogue import Catalogue
from analytics.intake import coding, encodings, extraction, staging
from analytics.intake.reading import Reading
from analytics.intake.report import FileReport

if TYPE_CHECKING:
    from analytics.intake.loading import Order

COUNTED_TABLES = ("checks", "parts")
"""Tables whose equal rows are told apart by counting them: an id can not stand twice in a file."""


@dataclass(frozen=True)
class Moment:
    """The load that a file is part of.

    Parameters
    ----------
    load_id : int
    loaded_at : datetime
    today : date
        Later dates are set aside.
    first : bool
        The store was empty before.
    """

    load_id: int
    loaded_at: datetime
    today: date
    first: bool


def load(
    connection: duckdb.DuckDBPyConnection,
    order: "Order",
    moment: Moment,
    *,
    file_id: int,
    catalogue: Catalogue,
    scratch: Path,
    progress: Callable[[str, float], None],
) -> FileReport:
    """Bring the rows of one file into the records and account for each.

    Raises
    ------
    BadFile, NeedsAnswer
        When the file can not be read for certain.
    """
    began = time.monotonic()
    progress("staging", 0.0)
    reading = _reading(order, moment, scratch)
    staging.stage(connection, reading)
    _, latest = staging.moments(connection)
    latest_at = latest[0] if latest else None
    taken = order.extraction
    if extraction.contradicted(taken, latest_at):
        taken = extraction.UNKNOWN
    known_from, known_to = taken.surely(latest_at, moment.loaded_at)
    values: dict[str, Any] = reading.values() | {
        "load_id": moment.load_id,
        "file_id": file_id,
        "source": order.source,
        "known_from": known_from,
        "known_to": known_to,
        "ids_are_unique": reading.table.name not in COUNTED_TABLES,
    }
    verdicts = staging.judge(connection, values)
    reasons = dict(queries.frame(connection, "staging/tally_reasons").rows())
    if reasons or verdicts.keys() - {"new", "updated", "repeated_exact", "repeated_older"}:
        queries.run(connection, "staging/set_aside_fields", values)
        queries.run(connection, "staging/set_aside", values)
    if not moment.first:
        queries.run(connection, "staging/make_touched")
        queries.run(connection, "staging/touched_before", values)
        queries.run(connection, "staging/replaced", values)
    progress("writing", 0.5)
    queries.run(connection, f"staging/write_{reading.table.name}", values)
    report = _report(order, reading, file_id, verdicts, reasons)
    if not moment.first:
        queries.run(connection, "staging/confirmed", values)
        if order.full_extract:
            queries.run(connection, "staging/withdrawn", values)
            report.withdrawn = queries.frame(connection, "staging/live_rows", values)["withdrawn"][0]
        queries.run(connection, "staging/touched_after", values)
    progress("coding", 0.8)
    report.unrecognised = coding.code(connection, catalogue, reading.table, file_id, order.mapping.words)
    report.check()
    queries.run(
        connection,
        "staging/file",
        values
        | {
            "file_name": order.sheet.name,
            "sha256": order.sheet.scan.sha256,
            "reading_hash": order.reading_hash,
            "extracted_on": taken.at,
            "extracted_from": taken.known_from,
            "latest_at": latest_at,
            "full_extract": order.full_extract,
            "encoding": order.sheet.encoding.name,
            "header": list(reading.header),
            "mapping": order.mapping.to_toml(),
            "rows": report.rows,
            "loaded": report.loaded,
            "updated": report.updated,
            "repeated_exact": report.repeated_exact,
            "repeated_older": report.repeated_older,
            "set_aside": report.set_aside,
            "withdrawn": report.withdrawn,
        },
    )
    report.seconds = round(time.monotonic() - began, 3)
    return report


def _reading(order: "Order", moment: Moment, scratch: Path) -> Reading:
    sheet = order.sheet
    path = sheet.path
    if sheet.encoding.needs_copy:
        path = scratch / "utf8.csv"
        encodings.write_copy(sheet.path, sheet.encoding, path)
    return Reading(
        table=order.recognised.table,
        path=path,
        header=sheet.dialect.header,
        columns=dict(order.recognised.columns),
        skipped_lines=sheet.dialect.skipped_lines,
        separator=sheet.dialect.separator,
        quote=sheet.dialect.quote,
        today=moment.today,
        extracted=order.extraction.at if order.extraction.known_from in ("given", "mapping") else None,
        units=dict(order.recognised.units),
    )


def _report(
    order: "Order", reading: Reading, file_id: int, verdicts: dict[str, int], reasons: dict[str, int]
) -> FileReport:
    counted = dict(verdicts)
    loaded, updated = counted.pop("new", 0), counted.pop("updated", 0)
    exact, older = counted.pop("repeated_exact", 0), counted.pop("repeated_older", 0)
    for code, rows in counted.items():
        reasons[code] = reasons.get(code, 0) + rows
    aside = sum(reasons.values())
    return FileReport(
        file=order.sheet.name,
        table=reading.table.name,
        source=order.source,
        file_id=file_id,
        rows=loaded + updated + exact + older + aside,
        loaded=loaded,
        updated=updated,
        repeated_exact=exact,
        repeated_older=older,
        set_aside=aside,
        reasons=reasons,
        messages=list(order.sheet.messages),
    )
