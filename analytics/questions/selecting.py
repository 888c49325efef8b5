"""From filters to the values that the statements bind: one place where a choice becomes a parameter."""

from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import Any

import duckdb
import polars as pl

from analytics import queries
from analytics.filters import WINDOWS_DAYS, Filters
from analytics.questions.answers import ObservationEnd

_NO_SET = [-1]
"""Stands for "no set at all" where a choice fits none; an empty list would choose every set."""


@dataclass(frozen=True)
class Ground:
    """What every selection from one generation stands on.

    Parameters
    ----------
    places : DataFrame
        Ends of observation, one row a place, as from metrics/observation_ends.
    has_visits : bool
        Whether any visit was loaded.
    """

    places: pl.DataFrame
    has_visits: bool


@dataclass(frozen=True)
class Selection:
    """What a question binds.

    Parameters
    ----------
    filters : Filters
        What it was made from.
    values : dict
        Parameters of marts.selection and of the statements around it.
    ends : list of ObservationEnd
        Ends of observation, before `as_of` is taken into account.
    """

    filters: Filters
    values: dict[str, Any]
    ends: list[ObservationEnd]


def window_bit(window_days: int, match: str) -> int:
    """Return the bit that stands for a window and match in the `*_bits` columns of the marts.

    Examples
    --------
    >>> window_bit(30, "family"), window_bit(7, "any")
    (4, 32)
    """
    return 1 << (WINDOWS_DAYS.index(window_days) + (len(WINDOWS_DAYS) if match == "any" else 0))


def end_of_day(filters: Filters) -> datetime | None:
    """Return the last moment of the day looked at, or None."""
    return None if filters.as_of is None else datetime.combine(filters.as_of, time.max)


def ground(cursor: duckdb.DuckDBPyConnection) -> Ground:
    """Read what every selection stands on."""
    return Ground(
        queries.frame(cursor, "metrics/observation_ends"),
        bool(queries.frame(cursor, "metrics/has_visits").item()),
    )


def selection(cursor: duckdb.DuckDBPyConnection, on: Ground, filters: Filters) -> Selection:
    """Return the values that the statements bind for these filters."""
    as_of_end = end_of_day(filters)
    cutoffs = _cutoffs(on.places, as_of_end, timedelta(days=filters.window_days))
    symptoms = filters.symptoms or filters.families
    values = {
        "has_visits": on.has_visits,
        "match": filters.match,
        "window_days": filters.window_days,
        "days_bit": window_bit(filters.window_days, "family"),
        "window_bit": window_bit(filters.window_days, filters.match),
        "family_bit": window_bit(filters.window_days, "family"),
        "any_bit": window_bit(filters.window_days, "any"),
        "cutoffs": cutoffs,
        "as_of_end": as_of_end,
        "closed_from": _midnight(filters.closed_from),
        "closed_before": None
        if filters.closed_to is None
        else _midnight(filters.closed_to + timedelta(days=1)),
        "depots": list(filters.depots),
        "technicians": list(filters.technicians),
        "causes": list(filters.causes),
        "product_families": list(filters.product_families),
        "symptom_sets": _sets(cursor, "metrics/chosen_symptom_sets", filters) if symptoms else [],
        "part_sets": _sets(cursor, "metrics/chosen_part_sets", filters) if filters.parts else [],
    }
    return Selection(filters, values, observation_ends(on.places))


def observation_ends(places: pl.DataFrame) -> list[ObservationEnd]:
    """Return one end a source, and one for each depot that fell silent earlier."""
    sources = {row["source"]: row for row in places.iter_rows(named=True)}
    whole = [
        ObservationEnd(row["source"], "", row["source_ends_at"], row["source_ends_from"])
        for row in sources.values()
    ]
    silent = places.filter(pl.col("ends_from") == "own last record")
    return whole + [
        ObservationEnd(row["source"], row["depot"], row["ends_at"], row["ends_from"])
        for row in silent.iter_rows(named=True)
    ]


def _cutoffs(places: pl.DataFrame, as_of_end: datetime | None, window: timedelta) -> list[datetime | None]:
    """Return the latest closing whose window has passed, at the position of each place's number."""
    ends = dict(zip(places["place"], places["ends_at"], strict=True))
    earliest = [min(end, as_of_end or end) - window for end in ends.values()]
    filler = earliest[0] if earliest else None
    by_place = dict(zip(ends, earliest, strict=True))
    return [by_place.get(place, filler) for place in range(1, max(ends, default=1) + 1)]


def _sets(cursor: duckdb.DuckDBPyConnection, name: str, filters: Filters) -> list[int]:
    values = {
        "symptoms": list(filters.symptoms),
        "families": list(filters.families),
        "parts": list(filters.parts),
    }
    return queries.frame(cursor, name, values).to_series().to_list() or _NO_SET


def _midnight(day: Any) -> datetime | None:
    return None if day is None else datetime.combine(day, time.min)
