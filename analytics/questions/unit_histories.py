"""Histories of units as arrays: when each was watched, at what age, and when it rang."""

from dataclasses import dataclass

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics import queries

DAYS_A_YEAR = 365.25
AGE_BANDS = ("0 to 1", "1 to 3", "3 to 6", "6 to 9", "9 and more")
_EDGES_YEARS = (0, 1, 3, 6, 9)
LIKE = ("product_family", "water_supply", "shutoff_valve")
"""What makes units alike, besides their age."""


@dataclass(frozen=True)
class Histories:
    """Units and their repair calls, as watched.

    Parameters
    ----------
    units : DataFrame
        One row a unit, columns as from metrics/unit_histories without the calls.
    starts, ends : array of float, shape (n,)
        Age in days at the begin and end of the watch; without a day of installation, days since the begin of
        the watch. Both days are watched.
    aged : array of bool, shape (n,)
        Whether the day of installation is known.
    unit, age : arrays, shape (e,)
        Position of the unit and its age in days, of each call.
    """

    units: pl.DataFrame
    starts: NDArray[np.float64]
    ends: NDArray[np.float64]
    aged: NDArray[np.bool_]
    unit: NDArray[np.int64]
    age: NDArray[np.float64]

    @property
    def calls(self) -> NDArray[np.int64]:
        """Calls of each unit, shape (n,)."""
        return np.bincount(self.unit, minlength=len(self.starts))


def histories(cursor: duckdb.DuckDBPyConnection) -> Histories:
    """Read the histories of all units."""
    return as_arrays(queries.frame(cursor, "metrics/unit_histories"))


def as_arrays(rows: pl.DataFrame) -> Histories:
    """Turn rows as from metrics/unit_histories into arrays."""
    born = pl.coalesce("installed_on", "watched_from")
    dated = rows.with_columns(born=born).with_row_index("unit")
    calls = dated.select("unit", "born", "opened_on").explode("opened_on").drop_nulls("opened_on")

    def days(frame: pl.DataFrame, name: str) -> NDArray[np.float64]:
        return (frame[name] - frame["born"]).dt.total_days().cast(pl.Float64).to_numpy()

    return Histories(
        rows.drop("opened_on"),
        days(dated, "watched_from"),
        days(dated, "watched_to"),
        rows["installed_on"].is_not_null().to_numpy(),
        calls["unit"].cast(pl.Int64).to_numpy(),
        days(calls, "opened_on"),
    )


def banded(found: Histories) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Return the years watched and the calls of each unit by age band, the last for unknown age.

    Returns
    -------
    years, calls : arrays, shape (n, len(AGE_BANDS) + 1)
    """
    edges = np.array([*_EDGES_YEARS, np.inf]) * DAYS_A_YEAR
    low, high = edges[:-1], edges[1:]
    bands = len(AGE_BANDS) + 1
    years = np.zeros((len(found.starts), bands))
    inside = np.minimum(found.ends[:, None] + 1, high) - np.maximum(found.starts[:, None], low)
    years[:, :-1] = np.where(found.aged[:, None], np.clip(inside, 0, None), 0)
    years[:, -1] = np.where(found.aged, 0, found.ends + 1 - found.starts)
    band = np.where(found.aged[found.unit], np.searchsorted(edges, found.age, side="right") - 1, bands - 1)
    calls = np.bincount(found.unit * bands + band, minlength=years.size).reshape(years.shape)
    return years / DAYS_A_YEAR, calls
