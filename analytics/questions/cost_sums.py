"""What returns took, as sums from which their cost under any assumptions follows at once."""

from dataclasses import dataclass

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics import queries
from analytics.questions.labelling import group_labels
from analytics.questions.selecting import Selection

Floats = NDArray[np.float64]
TOOK = ("returns", "visits", "minutes", "untimed", "part_money", "unpriced")
"""What is summed: returns, visits, timed minutes, visits not timed, money for parts, parts without a cost."""
DAYS_A_YEAR = 365.25


@dataclass(frozen=True)
class Work:
    """What returns took, whatever is chosen; once a generation.

    Parameters
    ----------
    returns : pl.DataFrame
        As from sql/metrics/work_of_returns.sql.
    visits, timed : int
        Visits of all calls, and those of them that are timed.
    median_minutes : float or None
        Of the timed ones; None without any.
    """

    returns: pl.DataFrame
    visits: int
    timed: int
    median_minutes: float | None


@dataclass(frozen=True)
class Moments:
    """Sums over units of what the returns of some group took; vectors are in the order of `TOOK`.

    Parameters
    ----------
    units : int
        Units with a return in the group.
    total : array of float, shape (6,)
    squares : array of float, shape (6, 6)
        Sum over units of the products of their totals.
    with_calls : array of float, shape (6,)
        Sum over units of their totals times their judged calls, in whatever group.
    """

    units: int
    total: Floats
    squares: Floats
    with_calls: Floats


@dataclass(frozen=True)
class CostSums:
    """Sums over the calls chosen.

    Parameters
    ----------
    units, calls, calls_squared : float
        Units with a judged call; sums over them of their judged calls, and of the square of those.
    years : float
        From the first to the last closing of a judged call.
    came_back : int
        Judged calls that came back.
    came_back_squared, came_back_with_calls : float
        Sums over units of the square of theirs, and of theirs times their judged calls.
    whole : Moments
        Of all returns.
    groups : dict of group code (or None) to Moments
    """

    units: int
    calls: float
    calls_squared: float
    years: float
    came_back: int
    came_back_squared: float
    came_back_with_calls: float
    whole: Moments
    groups: dict[str | None, Moments]


def work(cursor: duckdb.DuckDBPyConnection) -> Work:
    """Read what returns took."""
    lasted = queries.frame(cursor, "metrics/minutes_on_site").row(0, named=True)
    returns = queries.frame(cursor, "metrics/work_of_returns")
    return Work(returns, lasted["visits"], lasted["timed"], lasted["median_minutes"])


def returns_of(
    cursor: duckdb.DuckDBPyConnection, chosen: Selection, done: Work, by: str
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Return the judged calls that came back, and the returns counted against them with what each took."""
    values = chosen.values | {"by": "none" if by == "final_cause" else by}
    came_back = queries.frame(cursor, "metrics/came_back_rows", values)
    counts = (pl.col("match") == chosen.filters.match) & (
        pl.col("window_bits") & chosen.values["days_bit"] != 0
    )
    returns = done.returns.filter(counts).join(came_back, left_on="charged_row", right_on="row_id")
    if by == "final_cause":
        returns = returns.with_columns(pl.col("final_cause").alias("group_code"))
    return came_back, returns.with_columns(pl.lit(1.0).alias("returns"))


def cost_sums(cursor: duckdb.DuckDBPyConnection, chosen: Selection, done: Work, by: str) -> CostSums:
    """Sum what the returns of the calls chosen took."""
    came_back, returns = returns_of(cursor, chosen, done, by)
    units = queries.frame(cursor, "metrics/judged_units", chosen.values)
    calls_of = units.filter(pl.col("unit_hash").is_not_null()).select("unit_hash", "n")
    by_unit = came_back.group_by("unit_hash").agg(pl.len().cast(pl.Float64).alias("back"))
    by_unit = by_unit.join(calls_of, on="unit_hash")
    returns = returns.join(calls_of, on="unit_hash")
    parts = returns.partition_by("group_code", as_dict=True)
    return CostSums(
        units=int(units["units"].sum()),
        calls=float(units["n"].sum()),
        calls_squared=float(units["nn"].sum()),
        years=_years(queries.frame(cursor, "metrics/judged_closings", chosen.values)),
        came_back=came_back.height,
        came_back_squared=float((by_unit["back"] ** 2).sum()),
        came_back_with_calls=float((by_unit["back"] * by_unit["n"]).sum()),
        whole=_moments(returns),
        groups={code: _moments(rows) for (code,), rows in parts.items()},
    )


def groups_of(
    cursor: duckdb.DuckDBPyConnection, chosen: Selection, sums: CostSums, by: str
) -> tuple[dict[str | None, tuple[int, int]], dict[str | None, str]]:
    """Return judged calls and those that came back by group (none by final cause), and words for groups."""
    if by == "final_cause":
        return {}, group_labels(cursor, "cause", list(sums.groups))
    rows = queries.frame(cursor, "metrics/figures_by", chosen.values | {"by": by})
    came_back = "came_back_family" if chosen.filters.match == "family" else "came_back_any"
    counted = rows.select("group_code", "judged", came_back).rows()
    counts = {code: (judged, back) for code, judged, back in counted}
    return counts, group_labels(cursor, by, [*{**counts, **sums.groups}])


def _moments(returns: pl.DataFrame) -> Moments:
    by_unit = returns.group_by("unit_hash").agg(*[pl.col(name).sum() for name in TOOK], pl.col("n").first())
    took = by_unit.select(TOOK).to_numpy().astype(np.float64).reshape(-1, len(TOOK))
    return Moments(by_unit.height, took.sum(axis=0), took.T @ took, took.T @ by_unit["n"].to_numpy())


def _years(closings: pl.DataFrame) -> float:
    first, last = closings.row(0)
    return 0.0 if first is None else ((last - first).total_seconds() / 86400 + 1) / DAYS_A_YEAR
