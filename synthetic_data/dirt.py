"""Dirt: bad rows mixed into a foreign file at a stated rate, each one noted with its kind."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
import polars as pl

from synthetic_data.assumptions import load
from synthetic_data.streams import Bools, Ints

if TYPE_CHECKING:
    from synthetic_data.dialects import Dialect

DATED = {
    "calls": "opened_at",
    "visits": "arrived_at",
    "filter_changes": "changed_on",
    "follow_ups": "asked_on",
}
TEXT = {"calls": "complaint", "visits": "result", "checks": "check", "parts": "part", "follow_ups": "answer"}
_RETOLD = {"calls": "complaint", "visits": "left_at"}  # what differs in the second row of an id
_UNKNOWN_UNIT = "furlong"
_FAR, _LONG_AGO = datetime(2099, 12, 31, 12), datetime(1899, 12, 30, 12)


@dataclass(frozen=True)
class Spot:
    """A dirty row: its place in the chunk, what is wrong, and its file and physical line (1-based)."""

    row: int
    kind: str
    file: str = ""
    line: int = 0


class _Rows:
    """Clean rows of a chunk, from which dirty ones are drawn without repeats."""

    def __init__(self, rng: np.random.Generator, size: int) -> None:
        self.rng, self.size, self.used = rng, size, np.zeros(size, bool)

    def draw(self, kind: str, able: Bools) -> Ints:
        dirt = load()["dirt"]
        count = round(dirt[f"share.{kind}"] * self.size)
        if self.size >= dirt["least_rows"]:
            count = max(count, 1)
        free = np.flatnonzero(able & ~self.used)
        rows = np.sort(self.rng.choice(free, min(count, len(free)), replace=False)) if len(free) else free
        self.used[rows] = True
        return rows


def soil(
    rng: np.random.Generator, frame: pl.DataFrame, texts: pl.DataFrame, dialect: "Dialect", table: str
) -> tuple[pl.DataFrame, list[Spot]]:
    """Spoil single fields, and write some rows twice with other content under the same identifier.

    Parameters
    ----------
    frame, texts : pl.DataFrame
        The rows typed, and as texts in the dialect.

    Returns
    -------
    texts : pl.DataFrame
        With the spoilt fields and the added rows.
    spots : list of Spot
        The dirty rows, by their row in `texts`.
    """
    rows, spots = _Rows(rng, len(texts)), []
    for kind, column, at, values in _spoilt(rows, frame, texts, dialect, table):
        texts = texts.with_columns(texts[column].scatter(at, values))
        spots += [Spot(int(row), kind) for row in at]
    if table in _RETOLD:
        texts, spots = _tell_twice(rows, texts, table, spots)
    return texts, spots


def _spoilt(rows: _Rows, frame: pl.DataFrame, texts: pl.DataFrame, dialect: "Dialect", table: str):  # type: ignore[no-untyped-def]
    """Yield kind, column, rows and spoilt texts, one kind after the other."""
    every = np.ones(len(frame), bool)
    if table in DATED:
        column = DATED[table]
        pattern = dialect.time if frame.schema[column] == pl.Datetime("ms") else dialect.day
        at = rows.draw("bad_date", every)
        years = frame[column][at].dt.year().to_list()
        yield "bad_date", column, at, [dialect.impossible_day.replace("%Y", str(year)) for year in years]
        for kind, moment in (("far_future", _FAR), ("long_ago", _LONG_AGO)):
            at = rows.draw(kind, every)
            yield kind, column, at, [moment.strftime(pattern)] * len(at)
    if table == "calls" and "closed_at" in frame.columns:
        at = rows.draw("closed_before_opened", frame["closed_at"].is_not_null().to_numpy())
        early = [moment - timedelta(days=5) for moment in frame["opened_at"][at].to_list()]
        yield "closed_before_opened", "closed_at", at, [moment.strftime(dialect.time) for moment in early]
    if table == "checks":
        at = rows.draw("unknown_unit", frame["reading"].is_not_null().to_numpy())
        yield "unknown_unit", "reading_unit", at, [_UNKNOWN_UNIT] * len(at)
    if table in TEXT:
        column = TEXT[table]
        at = rows.draw("nul", texts[column].is_not_null().to_numpy())
        yield "nul", column, at, [text[:2] + "\0" + text[2:] for text in texts[column][at].to_list()]


def _tell_twice(
    rows: _Rows, texts: pl.DataFrame, table: str, spots: list[Spot]
) -> tuple[pl.DataFrame, list[Spot]]:
    """Add a second row with the same identifier and other content some rows below the first."""
    column, n = _RETOLD[table], len(texts)
    first = rows.draw("duplicate_id", texts[column].is_not_null().to_numpy())
    below = first + rows.rng.uniform(0.5, 60, len(first))
    order = np.argsort(np.concatenate([np.arange(n), below]), kind="stable")
    place = np.empty(len(order), np.int64)
    place[order] = np.arange(len(order))
    texts = texts[np.concatenate([np.arange(n), first])[order]]
    second = place[n:]
    retold = (
        [None] * len(first)
        if column == "left_at"
        else [text + ", 2nd entry" for text in texts[column][second]]
    )
    texts = texts.with_columns(texts[column].scatter(second, pl.Series(retold, dtype=pl.String)))
    moved = [Spot(int(place[spot.row]), spot.kind) for spot in spots]
    return texts, moved + [Spot(int(row), "duplicate_id") for row in (*place[first], *second)]


def ragged(rng: np.random.Generator, lines: list[str], separator: str, dirty: set[int]) -> list[Spot]:
    """Cut some written rows short and lengthen others, in place; rows with quotes are left alone.

    Parameters
    ----------
    lines : list of str
        Rows as written, without line ends.
    dirty : set of int
        Rows that are dirty already.
    """
    rows, spots = _Rows(rng, len(lines)), []
    rows.used[list(dirty)] = True
    plain = np.array(['"' not in line for line in lines], bool)
    for row in rows.draw("ragged_short", plain):
        fields = lines[row].split(separator)
        lines[row] = separator.join(fields[: -int(rng.integers(1, min(4, len(fields))))])
        spots.append(Spot(int(row), "ragged_short"))
    for row in rows.draw("ragged_long", plain):
        lines[row] += separator + separator.join("x" * int(rng.integers(1, 3)))
        spots.append(Spot(int(row), "ragged_long"))
    return spots
