"""Taking files back: the records as if they had not been loaded, as a generation of its own."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import asdict, dataclass, field
from datetime import datetime
from importlib.metadata import version
from typing import Any

import duckdb

from analytics import queries
from analytics.catalogue import Catalogue, load_catalogue
from analytics.errors import BadQuestion, UnknownRecord
from analytics.marts import build_marts
from analytics.store import WAIT_SECONDS, Draft, Store

Progress = Callable[[str, float], None]


@dataclass(frozen=True)
class FileTakenBack:
    """What taking one file back changes in the records.

    Parameters
    ----------
    file_id, load_id : int
    file, table, source : str
    rows : int
        Rows that it had.
    brought : int
        Rows that it brought, new or in place of others: they go.
    put_back : int
        Rows that it had replaced: they stand again as they were.
    unwithdrawn : int
        Rows that it had withdrawn as a full extract: they count again.
    """

    file_id: int
    load_id: int
    file: str
    table: str
    source: str
    rows: int
    brought: int
    put_back: int
    unwithdrawn: int


@dataclass(frozen=True)
class TakenBack:
    """What was taken back, or would be.

    Parameters
    ----------
    files : list of FileTakenBack
        Latest first.
    before, after : dict of str to int
        Keys calls, and callbacks (returns within 30 days for the same kind of complaint).
    load_id : int or None
        The load that the taking back counts as; None when it was only tried.
    later : list of str
        Files taken back with the others because what became of their rows hung on them, to be loaded again.
    """

    files: list[FileTakenBack]
    before: dict[str, int]
    after: dict[str, int]
    load_id: int | None = None
    later: list[str] = field(default_factory=list)

    def to_dict(self) -> dict[str, Any]:
        """Return it as plain values, for JSON."""
        return asdict(self)


def take_back(
    store: Store,
    file_ids: Sequence[int] = (),
    *,
    load_id: int | None = None,
    with_later: bool = False,
    trial: bool = False,
    progress: Progress | None = None,
    catalogue: Catalogue | None = None,
    wait_seconds: float = WAIT_SECONDS,
) -> TakenBack:
    """Take files or a whole load back: all of them or, where one can not be taken back, none.

    Parameters
    ----------
    store : Store
    file_ids : sequence of int
        Files by number.
    load_id : int, optional
        All files of this load as well.
    with_later : bool
        Take later files back too whose rows were compared with those of these files.
    trial : bool
        Do everything and count, then keep nothing of it.
    progress : callable, optional
        Called with a stage and the share of it done.
    catalogue : Catalogue, optional
    wait_seconds : float
        How long to wait for a load to finish.

    Returns
    -------
    TakenBack

    Raises
    ------
    UnknownRecord
        When there is no such file or load, or it was taken back before.
    BadQuestion
        When nothing is named, or later files hang on these and `with_later` is not set.
    StoreProblem
        When another load runs, or the store can not be written.

    Notes
    -----
    A file hangs on an earlier one of the same table when it met rows known before it, or mended its
    rows. Those are taken back first, latest first, so that each is undone on the records that it was
    loaded on.
    """
    if not store.exists():
        raise UnknownRecord("Nothing is loaded, so that there is nothing to take back.")
    report = progress or (lambda stage, share: None)
    with store.writing(wait_seconds=wait_seconds, progress=report) as draft:
        connection = draft.connection
        standing = queries.frame(connection, "taking_back/standing").to_dicts()
        named = _named(standing, file_ids, load_id)
        wanted = _with_those_that_hang_on(standing, named)
        later = [each for each in wanted if each["file_id"] not in named]
        if later and not with_later:
            names = ", ".join(f"{each['file_name']} (file {each['file_id']})" for each in later[:10])
            raise BadQuestion(
                f"What became of the rows of {len(later)} other file{'s' if len(later) > 1 else ''} hangs on "
                f"this one: {names}. Take them back together (--with-later), then load those again."
            )
        taken = _take(draft, wanted, trial, report, catalogue)
    return TakenBack(*taken, later=[each["file_name"] for each in later])


def _take(
    draft: Draft,
    wanted: Sequence[dict[str, Any]],
    trial: bool,
    report: Progress,
    catalogue: Catalogue | None,
) -> tuple[list[FileTakenBack], dict[str, int], dict[str, int], int | None]:
    connection = draft.connection
    before = _figures(connection)
    number = queries.frame(connection, "staging/next_numbers")["load_id"][0]
    begun = {
        "load_id": number,
        "started_at": _now(),
        "program_version": version("service-call-analytics"),
    }
    queries.run(connection, "staging/begin_load", begun)
    queries.run(connection, "staging/make_touched")
    files = []
    for done, each in enumerate(wanted):
        report("writing", done / len(wanted))
        files.append(_one(connection, each, number))
    build_marts(
        connection,
        catalogue or load_catalogue(),
        "touched_units",
        progress=lambda _, share: report("building marts", share),
    )
    after = _figures(connection)
    queries.run(connection, "staging/end_load", {"load_id": number, "finished_at": _now()})
    if trial:
        draft.abandon()
    return files, before, after, None if trial else number


def _one(connection: duckdb.DuckDBPyConnection, file: dict[str, Any], number: int) -> FileTakenBack:
    """Take one file back; what it touched is marked both as it was and as it becomes."""
    values = file | {"table": file["table_name"], "taken_back_by": number}
    counts = queries.frame(connection, "taking_back/counts", values).row(0, named=True)
    queries.run(connection, "taking_back/moved_back", values)
    queries.run(connection, "taking_back/no_verdicts")
    queries.run(connection, "staging/touched_after", values)
    queries.run(connection, "taking_back/removed", values)
    queries.run(connection, "taking_back/put_back", values)
    queries.run(connection, "staging/touched_before", values)
    queries.run(connection, "taking_back/noted", values)
    return FileTakenBack(
        file["file_id"],
        file["load_id"],
        file["file_name"],
        file["table_name"],
        file["source"],
        file["rows"],
        **counts,
    )


def _named(standing: Sequence[dict[str, Any]], file_ids: Sequence[int], load_id: int | None) -> set[int]:
    known = {each["file_id"] for each in standing}
    if strangers := sorted(set(file_ids) - known):
        raise UnknownRecord(
            f"There is no file {strangers[0]}, or it was taken back before; `loads` lists the files."
        )
    of_load = {each["file_id"] for each in standing if each["load_id"] == load_id}
    if load_id is not None and not of_load:
        raise UnknownRecord(
            f"There is no load {load_id} with files, or they were taken back before; `loads` lists the loads."
        )
    if not file_ids and load_id is None:
        raise BadQuestion("Name the file or the load that is to be taken back; `loads` lists them.")
    return {*file_ids, *of_load}


def _with_those_that_hang_on(standing: Iterable[dict[str, Any]], named: set[int]) -> list[dict[str, Any]]:
    """Return the named files and all later ones that hang on them, latest first."""
    files, wanted, before = list(standing), dict[int, dict[str, Any]](), -1
    while before != len(wanted):
        before = len(wanted)
        for each in files:
            if each["file_id"] in named or any(_hangs_on(each, other) for other in wanted.values()):
                wanted[each["file_id"]] = each
    return [wanted[number] for number in sorted(wanted, reverse=True)]


def _hangs_on(later: dict[str, Any], earlier: dict[str, Any]) -> bool:
    if later["file_id"] <= earlier["file_id"]:
        # Full extracts of one load and table withdrew rows under the number of the load: they go together.
        alike = all(later[name] == earlier[name] for name in ("load_id", "table_name", "source"))
        return alike and later["full_extract"] and earlier["full_extract"]
    met = later["met"] and later["table_name"] == earlier["table_name"]
    return met or earlier["file_id"] in later["mends"]


def _figures(connection: duckdb.DuckDBPyConnection) -> dict[str, int]:
    return queries.frame(connection, "taking_back/figures").row(0, named=True)


def _now() -> datetime:
    return datetime.now().replace(microsecond=0)
