"""Loading files into the store: all of them or none, with an account of every row."""

import time
from collections.abc import Callable, Sequence
from datetime import date, datetime
from importlib.metadata import version
from pathlib import Path
from typing import Any

import duckdb

from analytics import queries
from analytics.audit import Audit, command_line
from analytics.catalogue import Catalogue, load_catalogue
from analytics.errors import BadQuestion, StoreProblem
from analytics.intake import clock, coding, one_file, staging
from analytics.intake.mapping import Mapping
from analytics.intake.order import Order, Wishes, order_for
from analytics.intake.report import FileReport, LoadReport
from analytics.marts import build_marts
from analytics.store import WAIT_SECONDS, Draft, Store

Progress = Callable[[str, float], None]
EXAMPLES = 20


def load_files(
    store: Store,
    files: Sequence[Path | str],
    *,
    mapping: Mapping | None = None,
    table: str | None = None,
    source: str | None = None,
    extracted: date | datetime | None = None,
    full_extract: bool = False,
    today: date | None = None,
    progress: Progress | None = None,
    catalogue: Catalogue | None = None,
    called: str = "",
    trial: bool = False,
    wait_seconds: float = WAIT_SECONDS,
    who: str = "",
) -> LoadReport:
    """Load files of records into the store: all of them or, where one can not be read, none.

    Parameters
    ----------
    store : Store
    files : sequence of Path
        CSV files; each holds one table of the contract.
    mapping : Mapping, optional
        What the sender's columns and words mean. Without one, only what is certain is used.
    table : str, optional
        The table that the files hold, where the header leaves it open.
    source : str, optional
        Who sent the files; else the mapping's sender, else "main".
    extracted : date or datetime, optional
        When the files were taken from the sender's system.
    full_extract : bool
        The files hold everything their source has: known rows that they lack are withdrawn.
    today : date, optional
        Day of loading; later dates are set aside.
    progress : callable, optional
        Called with a stage ("decoding", "staging", "writing", "coding", "building marts", and the store's
        own) and the share of it done.
    catalogue : Catalogue, optional
        What words are coded with; else that of the ice and water side.
    called : str
        Name of the file for people, where the one on the disk is another; for a single file.
    trial : bool
        Read, judge, write and account for every row as ever, then keep nothing of it.
    wait_seconds : float
        How long to wait for another load to finish.
    who : str
        Who loads, for the audit; whoever works at the terminal unless given.

    Returns
    -------
    LoadReport
        For each file, what became of every row.

    Raises
    ------
    BadFile, NeedsAnswer, BadMapping, BadQuestion, StoreProblem
        Nothing is loaded then.
    """
    began, report = time.monotonic(), progress or _silent
    if not files:
        raise BadQuestion("There is nothing to load: name at least one file.")
    today = today or date.today()
    wishes = Wishes(mapping or Mapping(), today, table, source, extracted, full_extract)
    catalogue = catalogue or load_catalogue()
    coding.check_words(catalogue, wishes.mapping.words)
    orders = [
        order_for(Path(each), wishes, _part(report, "decoding", n, len(files)), called)
        for n, each in enumerate(files)
    ]
    reports = _all_loaded_before(store, orders)
    if reports is None:
        with store.writing(wait_seconds=wait_seconds, progress=report) as draft:
            reports, load_id = _load(draft, orders, catalogue, today, report, trial)
        if load_id is not None and not trial:
            _note(store, who or command_line(), load_id, reports)
        return LoadReport(reports, load_id, time.monotonic() - began)
    return LoadReport(reports, None, time.monotonic() - began)


def _load(
    draft: Draft, orders: Sequence[Order], catalogue: Catalogue, today: date, report: Progress, trial: bool
) -> tuple[list[FileReport], int | None]:
    connection = draft.connection
    staging.prepare(connection)
    clock.check(connection, _now())
    load_id, file_id = queries.frame(connection, "staging/next_numbers").row(0)
    load = one_file.Load(
        connection, load_id, _now(), today, first=draft.first, catalogue=catalogue, scratch=draft.scratch
    )
    begun = {
        "load_id": load_id,
        "started_at": load.began_at,
        "program_version": version("service-call-analytics"),
    }
    queries.run(connection, "staging/begin_load", begun)
    changed, messages = coding.settle_again(connection, orders[0].mapping.words)
    reports = []
    for n, order in enumerate(orders):
        share = _share(report, n, len(orders))
        reports.append(
            _loaded_before(connection, order) or one_file.load_file(load, order, file_id + n, share)
        )
    if all(each.already_loaded for each in reports) and not changed:
        draft.abandon()
        return reports, None
    reports[0].messages += messages
    if trial:
        for each in reports:
            each.examples = _examples(connection, each)
        draft.abandon()
        return reports, None
    build_marts(
        connection,
        catalogue,
        "all" if draft.first or changed else "touched_units",
        progress=lambda _, share: report("building marts", share),
    )
    queries.run(connection, "staging/end_load", {"load_id": load_id, "finished_at": _now()})
    return reports, load_id


def _examples(connection: duckdb.DuckDBPyConnection, report: FileReport) -> list[dict[str, Any]]:
    """First rows of a file that would be set aside; a trial leaves no other trace of them."""
    values = {"file_id": report.file_id, "limit": EXAMPLES, "offset": 0, "reason": None}
    rows = queries.frame(connection, "lists/set_aside", values)
    return rows.select("line", "reason", "column_name", "found").to_dicts()


def _note(store: Store, who: str, load_id: int, reports: list[FileReport]) -> None:
    """Keep in the audit what was loaded; where that can not be written the report says so."""
    files = ", ".join(f"{each.file} ({each.rows:,} rows)" for each in reports)
    try:
        Audit(store.folder).note(who, "loaded", f"load {load_id}: {files}")
    except StoreProblem as error:
        reports[0].messages.append(f"it is loaded, but the audit could not be written: {error}")


def _all_loaded_before(store: Store, orders: Sequence[Order]) -> list[FileReport] | None:
    """Reports of files that were all loaded before, in the same way; None when there is something to do."""
    if not store.exists():
        return None
    cursor = store.reader().cursor()
    reports = [_loaded_before(cursor, order) for order in orders]
    return [each for each in reports if each] if all(reports) else None


def _loaded_before(connection: duckdb.DuckDBPyConnection, order: Order) -> FileReport | None:
    found = queries.frame(
        connection,
        "staging/loaded_before",
        {"sha256": order.sheet.scan.sha256, "reading_hash": order.reading_hash},
    ).to_dicts()
    if not found:
        return None
    known = found[0]
    return FileReport(
        file=order.sheet.name,
        table=known["table_name"],
        source=known["source"],
        file_id=known["file_id"],
        rows=known["rows"],
        repeated_exact=known["rows"] - known["set_aside"],
        set_aside=known["set_aside"],
        already_loaded=True,
        messages=[f"loaded before, by load {known['load_id']} as {known['file_name']}"],
    )


def _part(report: Progress, stage: str, n: int, of: int) -> Callable[[float], None]:
    return lambda share: report(stage, (n + share) / of)


def _share(report: Progress, n: int, of: int) -> Progress:
    return lambda stage, share: report(stage, (n + share) / of)


def _now() -> datetime:
    return datetime.now().replace(microsecond=0)


def _silent(stage: str, share: float) -> None:
    """Report nothing."""
