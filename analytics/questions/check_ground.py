"""What the checks of all repairs say, whatever is chosen: read once a generation, as arrays by call.

A page that joined millions of checks to their calls would be too slow; these arrays are looked up by the row
of a call, and added up in the order in which they lie.
"""

from dataclasses import dataclass
from typing import Any

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics import queries
from analytics.hand_sorting import hand_sorting
from analytics.questions import check_unrecorded
from analytics.questions.check_unrecorded import Unrecorded
from analytics.valve_evidence import valve_evidence

VERDICTS = ("found", "ruled_out", "missed", "elsewhere", "unclear", "unknown")
"""What became of a check, as in sql/metrics/checks_made.sql."""
FOUND = VERDICTS.index("found")
NO_VALVE, WITHOUT_EVIDENCE, WITH_EVIDENCE = range(3)
UNCHECKED, CHECKED, PROVED = range(3)
FEWEST_VISITS_CHECKED = 0.5
"""Share of visits with checks below which a technician is taken not to record them."""

Flags = NDArray[np.bool_]
Whole = NDArray[np.int64]


@dataclass(frozen=True)
class Layout:
    """Checks in two orders, so that sums over them are sums over stretches. A cell is a group and a check.

    Parameters
    ----------
    cells : pl.DataFrame
        One row a cell, in order: group (code; null: all, or not recognised), check.
    call : array of int, shape (n,)
        Row of the call of each check, by cell and verdict.
    begins : array of int, shape (cells x verdicts + 1,)
        Where each verdict of each cell begins in `call`, and the end.
    timed_call : array of int, shape (t,)
        Row of the call of each check with minutes, by cell and unit.
    minutes : array of float, shape (t,)
        Their minutes.
    found : array of float, shape (t,)
        1 where one found the fault.
    units : array of int, shape (u,)
        Where a unit begins within a cell, in `timed_call`.
    of_cells : array of int, shape (c,)
        At which of `units` a cell begins, of those with a timed check.
    timed_cells : array of int, shape (c,)
        Their numbers.
    """

    cells: pl.DataFrame
    call: NDArray[np.int32]
    begins: Whole
    timed_call: NDArray[np.int32]
    minutes: NDArray[np.float32]
    found: NDArray[np.float32]
    units: Whole
    of_cells: Whole
    timed_cells: Whole

    def calls_of(self, cell: int, verdict: int | None = None) -> NDArray[np.int32]:
        """Return the rows of the calls of a cell, of one verdict or of all."""
        first = cell * len(VERDICTS) + (verdict or 0)
        return self.call[self.begins[first] : self.begins[first + (len(VERDICTS) if verdict is None else 1)]]


@dataclass(frozen=True)
class CheckGround:
    """What every answer about checks stands on; arrays are by row of the call in marts.calls.

    Parameters
    ----------
    place : array of int
        Place of the string of returns that a call is in; 0: in none.
    last_closed : array of datetime64
        Closing of its last completed call.
    unit : array of int
        Number of the unit.
    symptom_set : array of int
    valve : array of int
        `NO_VALVE`, `WITHOUT_EVIDENCE` or `WITH_EVIDENCE`.
    proof : array of int
        `UNCHECKED`, `CHECKED` (without a proof) or `PROVED`.
    seldom : array of bool
        The technician records checks on fewer than half of the visits.
    technician : array of int
        Number of the technician.
    made : Layout
        All checks that were recognised, ungrouped.
    not_recognised : array of int
        Row of the call of each check that was not.
    unrecorded : Unrecorded
        Checks not recorded on calls that came back.
    """

    place: NDArray[np.int32]
    last_closed: NDArray[np.datetime64]
    unit: NDArray[np.int32]
    symptom_set: NDArray[np.int32]
    valve: NDArray[np.uint8]
    proof: NDArray[np.uint8]
    seldom: Flags
    technician: NDArray[np.int32]
    made: Layout
    not_recognised: NDArray[np.int32]
    unrecorded: Unrecorded

    @property
    def size(self) -> int:
        """Length of the arrays by call."""
        return len(self.place)

    def flags(self, rows: NDArray[np.integer]) -> Flags:
        """Mark the calls of these rows."""
        marked = np.zeros(self.size, dtype=np.bool_)
        marked[rows] = True
        return marked


def check_ground(cursor: duckdb.DuckDBPyConnection, returns: pl.DataFrame) -> CheckGround:
    """Read what answers about checks stand on; `returns` as from sql/metrics/work_of_returns.sql."""
    evidence = valve_evidence()
    calls = queries.frame(cursor, "metrics/checked_calls", {"valve_parts": list(evidence.parts)})
    proofs = {"proof_checks": list(hand_sorting().proof_checks)}
    checks = queries.frame(cursor, "metrics/checks_made", proofs).with_columns(
        pl.col("check_code").cast(pl.Categorical).alias("check"),
        pl.col("verdict").cast(pl.Enum(VERDICTS)).to_physical(),
        pl.col("row_id").cast(pl.Int32),
    )
    recorders = queries.frame(cursor, "metrics/check_recorders")
    few = pl.col("with_checks") < FEWEST_VISITS_CHECKED * pl.col("visits")
    calls = calls.join(
        recorders.select("technician", few.alias("seldom")), on="technician", how="left", nulls_equal=True
    ).with_columns(pl.col("seldom").fill_null(True))
    size = int(calls["row_id"].max() or 0) + 1  # type: ignore[arg-type]
    rows = calls["row_id"].to_numpy()
    proof = np.zeros(size, dtype=np.uint8)
    proof[checks["row_id"].to_numpy()] = CHECKED
    proof[checks.filter("proves")["row_id"].to_numpy()] = PROVED
    seen = np.zeros(size, dtype=np.bool_)
    seen[checks.filter(pl.col("check_code").is_in(evidence.checks))["row_id"].to_numpy()] = True
    valve = _by_call(calls["valve_fitted"], rows, size, np.uint8) * (1 + seen.astype(np.uint8))
    unit = _by_call(calls["unit_hash"].rank("dense"), rows, size, np.int32)
    known = checks.filter(pl.col("check").is_not_null()).with_columns(
        pl.lit(None, dtype=pl.String).alias("group"),
        (pl.col("verdict") == FOUND).cast(pl.Float32).alias("found"),
    )
    timed = known.filter(pl.col("minutes").is_not_null())
    timed = timed.select("row_id", "group", "check", "minutes", "found")
    return CheckGround(
        place=_by_call(calls["place"].fill_null(0), rows, size, np.int32),
        last_closed=_by_call(calls["last_closed_at"], rows, size, np.dtype("datetime64[us]")),
        unit=unit,
        symptom_set=_by_call(calls["symptom_set"], rows, size, np.int32),
        valve=valve,
        proof=proof,
        seldom=_by_call(calls["seldom"], rows, size, np.bool_),
        technician=_by_call(calls["technician"].fill_null("").rank("dense"), rows, size, np.int32),
        made=laid_out(known.select("row_id", "group", "check", "verdict"), timed, unit),
        not_recognised=checks.filter(pl.col("check").is_null())["row_id"].to_numpy(),
        unrecorded=check_unrecorded.unrecorded(
            calls, known.select("row_id", "check_code"), queries.frame(cursor, "metrics/reveals"), returns
        ),
    )


def _by_call(values: pl.Series, rows: Whole, size: int, kind: np.dtype | type) -> NDArray[Any]:
    found = np.full(size, np.datetime64("NaT"), kind) if values.dtype == pl.Datetime else np.zeros(size, kind)
    found[rows] = values.to_numpy()
    return found


def laid_out(checks: pl.DataFrame, timed: pl.DataFrame, unit: NDArray[np.int32]) -> Layout:
    """Put checks in order.

    Parameters
    ----------
    checks : DataFrame
        Columns row_id, group, check, verdict (its number).
    timed : DataFrame
        Of those with minutes: row_id, group, check, minutes, found (1 or 0).
    unit : array of int
        Number of the unit, by row of the call.
    """
    cells = checks.select("group", "check").unique().sort("group", pl.col("check").cast(pl.String))
    numbered = cells.with_row_index("cell")

    def placed(rows: pl.DataFrame) -> pl.DataFrame:
        return rows.join(numbered, on=["group", "check"], nulls_equal=True).drop("group", "check")

    ordered = placed(checks).sort("cell", "verdict", "row_id")
    stretch = ordered["cell"].cast(pl.Int64).to_numpy() * len(VERDICTS) + ordered["verdict"].to_numpy()
    by_unit = placed(timed.with_columns(pl.Series("unit", unit[timed["row_id"].to_numpy()])))
    by_unit = by_unit.sort("cell", "unit")
    new_cell = _changes(by_unit["cell"].to_numpy())
    units = np.flatnonzero(new_cell | _changes(by_unit["unit"].to_numpy()))
    return Layout(
        cells=cells.with_columns(pl.col("check").cast(pl.String)),
        call=ordered["row_id"].to_numpy(),
        begins=np.searchsorted(stretch, np.arange(len(cells) * len(VERDICTS) + 1)),
        timed_call=by_unit["row_id"].to_numpy(),
        minutes=by_unit["minutes"].to_numpy(),
        found=by_unit["found"].to_numpy(),
        units=units,
        of_cells=np.searchsorted(units, np.flatnonzero(new_cell)),
        timed_cells=by_unit["cell"].to_numpy()[new_cell].astype(np.int64),
    )


def _changes(values: NDArray[Any]) -> Flags:
    return np.concatenate([np.ones(min(len(values), 1), dtype=np.bool_), values[1:] != values[:-1]])


def grouped(ground: CheckGround, groups: pl.DataFrame) -> Layout:
    """Lay the checks out by group too; `groups` has a row for each symptom_set and group of it."""
    made, names = ground.made, ground.made.cells["check"].cast(pl.Categorical)
    cell, verdict = np.divmod(np.arange(len(made.begins) - 1), len(VERDICTS))
    times = np.diff(made.begins)
    timed_to = np.append(made.units, len(made.minutes))[np.append(made.of_cells, len(made.units))]
    checks = pl.DataFrame(
        {
            "row_id": made.call,
            "check": names.gather(np.repeat(cell, times)),
            "verdict": np.repeat(verdict, times),
            "symptom_set": ground.symptom_set[made.call],
        }
    )
    timed = pl.DataFrame(
        {
            "row_id": made.timed_call,
            "check": names.gather(np.repeat(made.timed_cells, np.diff(timed_to))),
            "minutes": made.minutes,
            "found": made.found,
            "symptom_set": ground.symptom_set[made.timed_call],
        }
    )

    def by_group(rows: pl.DataFrame) -> pl.DataFrame:
        return rows.join(groups, on="symptom_set").drop("symptom_set")

    return laid_out(by_group(checks), by_group(timed), ground.unit)
