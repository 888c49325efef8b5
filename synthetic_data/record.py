"""The record: which calls and visits of the simulated history come into the office's files, in what order."""

from dataclasses import dataclass

import numpy as np

from synthetic_data import calendar
from synthetic_data.assumptions import load
from synthetic_data.calls import DUPLICATE
from synthetic_data.ledger import Columns
from synthetic_data.simulation import History
from synthetic_data.streams import Bools, Ints, chance, stream

REOPENING_DEPOT = "quenford"


@dataclass(frozen=True)
class Record:
    """The tables of the record as columns of numbers, in the order in which they are written.

    Parameters
    ----------
    calls, visits, checks, parts, filter_changes, retirements : dict of str to array
        Links between them are row numbers: visits["call"], checks["visit"], parts["visit"].
        In calls, last_call is the row of the call it follows (-1), unknown when that call is not on record.
    units : dict of str to array
        Every unit simulated; unit_row says which are on record and under which row number (-1: not).
    """

    calls: Columns
    visits: Columns
    checks: Columns
    parts: Columns
    units: Columns
    unit_row: Ints
    filter_changes: Columns
    true_filter_changes: Columns
    history: History


def _rows(columns: Columns, at: Ints | Bools) -> Columns:
    return {name: column[at] for name, column in columns.items()}


def _renumber(keep: Ints, size: int) -> Ints:
    """Row number in the record of each old row, -1 where it is not on record."""
    row = np.full(size + 1, -1)  # the last element answers for -1
    row[keep] = np.arange(len(keep))
    return row


def _chosen(calls: Columns, wanted: int, first_day: float, end_day: float) -> tuple[Bools, int]:
    """Calls on record: whole places until there are enough, then without the earliest of the surplus."""
    inside = (calls["opened"] >= first_day) & (calls["opened"] < end_day)
    per_place = np.bincount(calls["place"][inside], minlength=int(calls["place"].max(initial=0)) + 1)
    places = int(np.searchsorted(np.cumsum(per_place), wanted)) + 1
    inside &= calls["place"] < places
    surplus = max(0, int(inside.sum()) - wanted)
    rows = np.flatnonzero(inside)
    inside[rows[np.argsort(calls["opened"][rows], kind="stable")[:surplus]]] = False
    return inside, places


def enough(history: History, wanted: int) -> bool:
    """Whether the history has as many calls inside the record as asked for, allowing for reopened ones."""
    opened = history.ledger.peek("calls", "opened")
    return int(((opened >= history.first_day) & (opened < history.end_day)).sum()) >= wanted * 1.01


def _with_duplicates(rng: np.random.Generator, calls: Columns) -> Columns:
    """Add calls rung in twice while the first is open."""
    twice = np.flatnonzero(
        (calls["job"] == 0)
        & ~calls["trip"]
        & chance(rng, load()["office"]["duplicate"], len(calls["opened"]))
    )
    extra = _rows(calls, twice)
    assume = load()["office"]["twice"]
    span = np.minimum(extra["closed"] - extra["opened"], assume["most_days"])
    later = rng.uniform(assume["low"], assume["high"], len(twice))
    extra["opened"] = calendar.to_minute(extra["opened"] + span * later)
    struck = rng.uniform(assume["desk_low_minutes"], assume["desk_high_minutes"], len(twice))
    extra["closed"] = calendar.to_minute(extra["opened"] + struck / calendar.MINUTES)
    extra["outcome"] = np.full(len(twice), DUPLICATE)
    for name in ("named", "first_named", "technician"):
        extra[name] = np.full(len(twice), -1)
    extra["last_call"], extra["mended"] = twice, np.zeros(len(twice), bool)
    both = {name: np.concatenate([column, extra[name]]) for name, column in calls.items()}
    return both | {"twice": np.arange(len(both["opened"])) >= len(calls["opened"])}


def _reopened(rng: np.random.Generator, calls: Columns, inside: Bools) -> Bools:
    """Returns entered as a visit to the old call, at the depot that works that way."""
    names = list(load()["households"].under("depot"))
    there = calls["depot"] % len(names) == names.index(REOPENING_DEPOT)
    old = calls["last_call"]
    follows = there & inside & (old >= 0) & (calls["tries"] > 0) & (calls["outcome"] != DUPLICATE)
    follows &= chance(rng, load()["office"]["reopened"], len(old))
    follows &= inside[old] & ~follows[old]
    return follows


def record_of(history: History, wanted: int, seed: int) -> Record:
    """Bring the history into the form of the office's files.

    Parameters
    ----------
    wanted : int
        Calls on record; there are fewer only where the history has fewer.
    """
    rng, ledger, end = stream(seed, "record"), history.ledger, history.end_day
    calls = _with_duplicates(rng, ledger.take("calls"))
    total = len(calls["opened"])
    inside, places = _chosen(calls, wanted, history.first_day, end)
    again = _reopened(rng, calls, inside)
    if again.any():
        inside, places = _chosen_without(calls, again, wanted, history)
        again &= inside[calls["last_call"]]
    rows = np.flatnonzero(inside)
    keep = rows[np.lexsort((rows, calls["opened"][rows]))]
    row = _renumber(keep, total)
    told = np.where(again, row[calls["last_call"]], row[:-1])  # the row that tells of each call
    visits, visit_row = _visits(ledger.take("visits"), told, end)
    calls["mended"][calls["last_call"][again]] |= calls["mended"][again]
    seen = np.zeros(len(keep), bool)
    seen[visits["call"]] = True
    calls = _rows(calls, keep)
    calls["last_call"] = np.where(calls["last_call"] < 0, -1, told[calls["last_call"]])
    _cut_at_the_end(rng, calls, seen, end)
    units, unit_row = _units(history, places)
    changes = ledger.take("filter_changes", {"unit": np.int64, "day": float, "by": np.int64, "known": bool})
    changes = _rows(changes, (changes["day"] < end) & (unit_row[changes["unit"]] >= 0))
    return Record(
        calls=calls,
        visits=visits,
        checks=_details(ledger.take("checks", {"visit": np.int64}), visit_row),
        parts=_details(ledger.take("parts", {"visit": np.int64}), visit_row),
        units=units,
        unit_row=unit_row,
        filter_changes=_known_changes(changes),
        true_filter_changes=_rows(changes, np.lexsort((changes["day"], changes["unit"]))),
        history=history,
    )


def _chosen_without(calls: Columns, left_out: Bools, wanted: int, history: History) -> tuple[Bools, int]:
    opened = calls["opened"].copy()
    opened[left_out] = -np.inf
    return _chosen(calls | {"opened": opened}, wanted, history.first_day, history.end_day)


def _visits(visits: Columns, row: Ints, end: float) -> tuple[Columns, Ints]:
    """Visits of calls on record that were over before the end, by arrival; and the row of each number."""
    visits["call"] = row[visits["call"]]
    kept = np.flatnonzero((visits["call"] >= 0) & (visits["left"] < end))
    kept = kept[np.lexsort((visits["visit"][kept], visits["arrived"][kept]))]
    most = int(visits["visit"].max(initial=-1)) + 1
    visits = _rows(visits, kept)
    return visits, _renumber(visits["visit"], most)


def _details(rows: Columns, visit_row: Ints) -> Columns:
    """Checks or parts of the visits on record, by visit, in the order made."""
    rows["visit"] = visit_row[rows["visit"]]
    kept = np.flatnonzero(rows["visit"] >= 0)
    return _rows(rows, kept[np.argsort(rows["visit"][kept], kind="stable")])


def _cut_at_the_end(rng: np.random.Generator, calls: Columns, seen: Bools, end: float) -> None:
    """Calls that end later, or whose paper is lost, are still open on the last day of the record."""
    lost = (calls["job"] == 0) & chance(rng, load()["office"]["never_closed"], len(seen))
    still_open = (calls["closed"] >= end) | lost
    calls["closed"] = np.where(still_open, np.nan, calls["closed"])
    calls["outcome"] = np.where(still_open, -1, calls["outcome"])
    calls["written_cause"] = np.where(still_open, -1, calls["named"])
    unseen = still_open & ~seen
    calls["named"] = np.where(unseen, -1, calls["named"])
    calls["first_named"] = np.where(unseen, -1, calls["first_named"])
    calls["mended"] &= ~unseen


def _units(history: History, places: int) -> tuple[Columns, Ints]:
    units = history.ledger.take("units")
    gone = history.ledger.take("retirements", {"unit": np.int64, "day": float, "known": bool})
    units["retired"] = np.full(len(units["place"]), np.nan)
    units["retirement_known"] = np.zeros(len(units["place"]), bool)
    units["retired"][gone["unit"]], units["retirement_known"][gone["unit"]] = gone["day"], gone["known"]
    on_record = (units["place"] < places) & (units["installed"] < history.end_day)
    on_record &= ~(units["retired"] < history.first_day)
    keep = np.flatnonzero(on_record)
    return units, _renumber(keep, len(on_record))


def _known_changes(changes: Columns) -> Columns:
    """Changes that the office knows of, one a unit and day, by unit and day."""
    rows = np.flatnonzero(changes["known"].astype(bool))
    rows = rows[np.lexsort((changes["day"][rows], changes["unit"][rows]))]
    unit, day = changes["unit"][rows], changes["day"][rows]
    first = np.ones(len(rows), bool)
    first[1:] = (unit[1:] != unit[:-1]) | (day[1:] != day[:-1])
    return _rows(changes, rows[first])
