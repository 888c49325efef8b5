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
NO_VALVE, WITHOUT_EVIDENCE, WITH_EVIDENCE = range(3)
UNCHECKED, CHECKED, PROVED = range(3)
FEWEST_VISITS_CHECKED = 0.5
"""Share of visits with checks below which a technician is taken not to record them."""

Flags = NDArray[np.bool_]
Whole = NDArray[np.int64]


@dataclass(frozen=True)
class Layout:
    """Checks in order of cell (group and check) and unit, so that sums over units are sums over stretches.

    Parameters
    ----------
    cells : pl.DataFrame
        One row a cell, in order: group (code; null: all, or not recognised), check.
    call : array of int, shape (n,)
        Row of the call of each check.
    coded : array of int, shape (n,)
        Number of its cell x number of verdicts + number of its verdict.
    minutes : array of float, shape (n,)
        0 where not measured.
    found : array of int, shape (n,)
        1 where it found the fault and was measured.
    units : array of int, shape (u,)
        Where a unit begins within a cell.
    of_cells : array of int, shape (c,)
        At which of `units` a cell begins.
    """

    cells: pl.DataFrame
    call: NDArray[np.int32]
    coded: NDArray[np.int32]
    minutes: NDArray[np.float32]
    found: NDArray[np.uint8]
    units: Whole
    of_cells: Whole


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
    known = checks.filter(pl.col("check").is_not_null())
    return CheckGround(
        place=_by_call(calls["place"].fill_null(0), rows, size, np.int32),
        last_closed=_by_call(calls["last_closed_at"], rows, size, np.dtype("datetime64[us]")),
        unit=unit,
        symptom_set=_by_call(calls["symptom_set"], rows, size, np.int32),
        valve=valve,
        proof=proof,
        seldom=_by_call(calls["seldom"], rows, size, np.bool_),
        technician=_by_call(calls["technician"].fill_null("").rank("dense"), rows, size, np.int32),
        made=laid_out(known.select("row_id", "check", "verdict", "minutes"), unit),
        not_recognised=checks.filter(pl.col("check").is_null())["row_id"].to_numpy(),
        unrecorded=check_unrecorded.unrecorded(
            calls, known.select("row_id", "check_code"), queries.frame(cursor, "metrics/reveals"), returns
        ),
    )


def _by_call(values: pl.Series, rows: Whole, size: int, kind: np.dtype | type) -> NDArray[Any]:
    found = np.full(size, np.datetime64("NaT"), kind) if values.dtype == pl.Datetime else np.zeros(size, kind)
    found[rows] = values.to_numpy()
    return found


def laid_out(checks: pl.DataFrame, unit: NDArray[np.int32]) -> Layout:
    """Put checks in order; columns row_id, check, verdict (its number), minutes, and group where grouped."""
    if "group" not in checks.columns:
        checks = checks.with_columns(pl.lit(None, dtype=pl.String).alias("group"))
    cells = checks.select("group", "check").unique().sort("group", pl.col("check").cast(pl.String))
    ordered = (
        checks.with_columns(pl.Series("unit", unit[checks["row_id"].to_numpy()]))
        .join(cells.with_row_index("cell"), on=["group", "check"], nulls_equal=True)
        .sort("cell", "unit")
    )
    new_cell = _changes(ordered["cell"].to_numpy())
    new_unit = np.flatnonzero(new_cell | _changes(ordered["unit"].to_numpy()))
    verdict = ordered["verdict"].to_numpy()
    minutes = ordered["minutes"].fill_null(0).to_numpy().astype(np.float32)
    found = (verdict == VERDICTS.index("found")) & (minutes > 0)
    return Layout(
        cells=cells.with_columns(pl.col("check").cast(pl.String)),
        call=ordered["row_id"].to_numpy(),
        coded=(ordered["cell"].to_numpy().astype(np.int32) * len(VERDICTS) + verdict).astype(np.int32),
        minutes=minutes,
        found=found.astype(np.uint8),
        units=new_unit,
        of_cells=np.searchsorted(new_unit, np.flatnonzero(new_cell)),
    )


def _changes(values: NDArray[Any]) -> Flags:
    return np.concatenate([np.ones(min(len(values), 1), dtype=np.bool_), values[1:] != values[:-1]])


def grouped(ground: CheckGround, codes: pl.DataFrame) -> Layout:
    """Lay the checks out by group too; `codes` has a row for each symptom_set and group."""
    made = ground.made
    verdicts = len(VERDICTS)
    checks = pl.DataFrame(
        {
            "row_id": made.call,
            "check": made.cells["check"].cast(pl.Categorical).gather(made.coded // verdicts),
            "verdict": made.coded % verdicts,
            "minutes": made.minutes,
            "symptom_set": ground.symptom_set[made.call],
        }
    )
    return laid_out(checks.join(codes, on="symptom_set").drop("symptom_set"), ground.unit)
