"""How technicians come on: returns and first-time fix by time since they started, against expectation."""

from dataclasses import dataclass
from typing import Any

import duckdb
import numpy as np
import polars as pl

from analytics import queries
from analytics.questions.expected import Known, fitted_to, known_before
from analytics.questions.selecting import Selection
from analytics.statistics.cluster_ratio import ratio_intervals

BANDS = ("0-3", "3-6", "6-12", "12-24", "24+")
"""Months since starting; left-closed."""
EDGES = (3.0, 6.0, 12.0, 24.0)
DAYS_A_MONTH = 30.4375
WHATS = ("fixed", "came_back")
CURVE_SCHEMA = {
    "what": pl.String,
    "months": pl.String,
    "technicians": pl.Int64,
    "calls": pl.Int64,
    "happened": pl.Int64,
    **dict.fromkeys(("expected", "ratio", "low", "high"), pl.Float64),
}


@dataclass(frozen=True)
class NewTechnicians:
    """How technicians come on.

    Parameters
    ----------
    curve : DataFrame
        One row a band of months since starting, and what is counted: `fixed` (on the first visit, and no
        return) or `came_back`. technicians, calls (that can be judged), happened, expected (of the mix of
        work, at the average of all), ratio (happened / expected) and its 95% interval; null with fewer than
        two technicians, or none to whom it happened.
    calls, without_start, before_start : int
        Judged calls with a technician; of them those whose technician has no day of starting, and those
        closed before it. Both are left out.
    new : int
        Technicians with a call in their first year.
    """

    curve: pl.DataFrame
    calls: int
    without_start: int
    before_start: int
    new: int

    def to_dict(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return vars(self) | {"curve": self.curve.to_dicts()}


def new_technicians(cursor: duckdb.DuckDBPyConnection, chosen: Selection) -> NewTechnicians:
    """Set returns and first-time fix of each band against what was expected of its work.

    Notes
    -----
    Indirect standardisation: what is expected comes from a fit to all calls by what was known before the
    visit, as for the fair comparison. Intervals are those of a ratio of totals over technicians, since calls
    of one technician are alike.
    """
    known = known_before(cursor, chosen.values)
    started = queries.frame(cursor, "metrics/started")
    rows = known.calls.select("technician", "closed_at", "is_callback", "visits").join(
        started, on="technician", how="left", maintain_order="left"
    )
    months = (pl.col("closed_at") - pl.col("started_on").cast(pl.Datetime)).dt.total_seconds() / (
        86400 * DAYS_A_MONTH
    )
    rows = rows.with_columns(months.alias("months")).with_columns(_band(pl.col("months")).alias("band"))
    ours = rows.filter(pl.col("technician").is_not_null())
    curves = _curves(known, rows) if ours["band"].is_not_null().any() else []
    return NewTechnicians(
        pl.DataFrame(curves, schema=CURVE_SCHEMA),
        ours.height,
        int(ours["started_on"].is_null().sum()),
        int((ours["months"] < 0).sum()),
        ours.filter(pl.col("band").is_in(BANDS[:3]))["technician"].n_unique(),
    )


def _band(months: pl.Expr) -> pl.Expr:
    """Return the band of months since starting; null before the start."""
    at = pl.sum_horizontal(*[(months >= edge).cast(pl.Int64) for edge in EDGES])
    names = at.replace_strict(dict(enumerate(BANDS)), return_dtype=pl.String)
    return pl.when(months >= 0).then(names)


def _curves(known: Known, rows: pl.DataFrame) -> list[dict[str, Any]]:
    answers, whole = known.model("technician")
    came_back = rows.with_columns(
        pl.Series("happened", known.came_back), pl.Series("expected", whole.expected(answers))
    )
    fixable = (rows["visits"] > 0) & ~rows["is_callback"]
    at = np.flatnonzero(fixable.to_numpy())
    fixed = (rows["visits"].to_numpy()[at] == 1) & ~known.came_back[at]
    found = _of("came_back", came_back)
    if len(at):
        own = answers.taken(at)
        first = rows[at].with_columns(
            pl.Series("happened", fixed), pl.Series("expected", fitted_to(own, fixed).expected(own))
        )
        found = _of("fixed", first) + found
    return found


def _of(what: str, calls: pl.DataFrame) -> list[dict[str, Any]]:
    ours = calls.filter(pl.col("technician").is_not_null() & pl.col("band").is_not_null())
    by_technician = ours.group_by("band", "technician").agg(
        pl.len().alias("calls"), pl.col("happened").sum(), pl.col("expected").sum()
    )
    found = []
    for band in BANDS:
        each = by_technician.filter(pl.col("band") == band).sort("technician")
        if each.is_empty():
            continue
        x, n = each["happened"].to_numpy().astype(float), each["expected"].to_numpy()
        low = high = None
        informative = int((x > 0).sum())
        if informative >= 2:
            sums = np.array([[len(x), n.sum(), x.sum(), n @ n, n @ x, x @ x]])
            lows, highs = ratio_intervals(sums, np.array([informative]))
            low, high = float(lows[0]), float(highs[0])
        found.append(
            {
                "what": what, "months": band, "technicians": each.height, "calls": int(each["calls"].sum()),
                "happened": int(x.sum()), "expected": float(n.sum()), "ratio": float(x.sum() / n.sum()),
                "low": low, "high": high,
            }
        )  # fmt: skip
    return found
