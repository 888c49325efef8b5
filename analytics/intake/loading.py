"""Loading files into the store: all of them or none, with an account of every row."""

import hashlib
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from importlib import import_module
from importlib.metadata import version
from pathlib import Path

import duckdb

from analytics import queries
from analytics.catalogue import Catalogue, load_catalogue
from analytics.errors import StoreProblem
from analytics.intake import coding, extraction, one_file, sheets, staging
from analytics.intake.extraction import Extraction
from analytics.intake.mapping import Mapping
from analytics.intake.recognising import Recognised, recognise
from analytics.intake.report import FileReport, LoadReport
from analytics.intake.sheets import Sheet
from analytics.store import Store

Progress = Callable[[str, float], None]

DEFAULT_SOURCE = "main"


@dataclass(frozen=True)
class Order:
    """One file to load, and how.

    Parameters
    ----------
    sheet : Sheet
    recognised : Recognised
    mapping : Mapping
    source : str
    extraction : Extraction
    full_extract : bool
    """

    sheet: Sheet
    recognised: Recognised
    mapping: Mapping
    source: str
    extraction: Extraction
    full_extract: bool

    @property
    def reading_hash(self) -> str:
        """Hash of everything but the bytes that decides what becomes of the file."""
        parts = (
            self.mapping.to_toml(),
            self.recognised.table.name,
            self.source,
            str(self.extraction.at),
            str(self.full_extract),
        )
        return hashlib.sha256("\0".join(parts).encode()).hexdigest()


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
        Called with a stage and the share of it done.
    catalogue : Catalogue, optional
        What words are coded with; else that of the ice and water side.

    Returns
    -------
    LoadReport
        For each file, what became of every row.

    Raises
    ------
    BadFile, NeedsAnswer, BadMapping, StoreProblem
        Nothing is loaded then.
    """
    began, report = time.monotonic(), progress or _silent
    mapping = mapping or Mapping()
    catalogue = catalogue or load_catalogue()
    coding.check_words(catalogue, mapping.words)
    orders = [
        _order(
            Path(each),
            mapping,
            table,
            source,
            extracted,
            full_extract,
            _part(report, "decoding", n, len(files)),
        )
        for n, each in enumerate(files)
    ]
    if done := _all_done(store, orders):
        return LoadReport(done, None, time.monotonic() - began)
    first = not store.exists()
    with store.writing(progress=report) as draft:
        staging.prepare(draft.connection)
        numbers = queries.frame(draft.connection, "staging/next_numbers").row(0, named=True)
        moment = one_file.Moment(
            load_id=numbers["load_id"],
            loaded_at=datetime.now().replace(microsecond=0),
            today=today or date.today(),
            first=first,
        )
        queries.run(
            draft.connection,
            "staging/begin_load",
            {
                "load_id": moment.load_id,
                "started_at": moment.loaded_at,
                "program_version": version("service-call-analytics"),
            },
        )
        reports = []
        for n, order in enumerate(orders):
            known = _loaded_before(draft.connection, order)
            reports.append(
                known
                or one_file.load(
                    draft.connection,
                    order,
                    moment,
                    file_id=numbers["file_id"] + n,
                    catalogue=catalogue,
                    scratch=draft.scratch,
                    progress=lambda stage, share, n=n: report(stage, (n + share) / len(orders)),  # type: ignore[misc]
                )
            )
        if all(each.already_loaded for each in reports):
            draft.abandon()
            return LoadReport(reports, None, time.monotonic() - began)
        report("building marts", 0.0)
        marts = import_module("analytics.marts")
        marts.build_marts(draft.connection, catalogue, "all" if first else "touched_units")
        queries.run(
            draft.connection,
            "staging/end_load",
            {"load_id": moment.load_id, "finished_at": datetime.now().replace(microsecond=0)},
        )
    return LoadReport(reports, moment.load_id, time.monotonic() - began)


def _order(
    path: Path,
    mapping: Mapping,
    table: str | None,
    source: str | None,
    extracted: date | None,
    full_extract: bool,
    progress: Callable[[float], None],
) -> Order:
    sheet = sheets.look_at(path, mapping, progress)
    recognised = recognise(path.name, sheet.dialect.header, mapping, table)
    return Order(
        sheet=sheet,
        recognised=recognised,
        mapping=mapping,
        source=source or mapping.sender or DEFAULT_SOURCE,
        extraction=extraction.of_file(path.name, extracted, mapping.extracted),
        full_extract=full_extract,
    )


def _all_done(store: Store, orders: Sequence[Order]) -> list[FileReport] | None:
    """Reports of files that were all loaded before, in the same way; None when there is something to do."""
    if not store.exists():
        return None
    try:
        cursor = store.reader().cursor()
    except StoreProblem:
        return None
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
        messages=[f"loaded before, by load {known['load_id']} as {known['file_name']}; nothing changed"],
    )


def _part(report: Progress, stage: str, n: int, of: int) -> Callable[[float], None]:
    return lambda share: report(stage, (n + share) / of)


def _silent(stage: str, share: float) -> None:
    """Report nothing."""
