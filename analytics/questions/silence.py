"""Silence is not success: how often a repair that nobody rang about again does not work."""

from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

import duckdb
import polars as pl

from analytics import queries
from analytics.questions.clustering import design_effects
from analytics.questions.selecting import Selection
from analytics.rates import Counted, Rate, rates

SAMPLE = 30
"""Calls to ask about in a week, unless told otherwise (our convention)."""

LATELY_DAYS = 90


@dataclass(frozen=True)
class Silence:
    """What is known of the repairs that nobody rang about again, and the office's own mark against ours.

    Parameters
    ----------
    callback_rate : Rate
        Came back for any symptom: a lower limit of the share that does not hold.
    not_working : Rate
        Of silent calls whose customer was asked and told, those that work partly or not at all.
    fails_low, fails, fails_high : float or None
        Share of repairs that does not hold, 0..1: those that came back, and of the silent the share of
        `not_working`; the limits are those of `not_working`, carried through. None where nobody told.
    counts : dict of str to int
        judged, came_back_any, silent, works, partly, no, not_reached, flagged_both, flagged_by_office_only,
        flagged_by_us_only.
    """

    callback_rate: Rate
    not_working: Rate
    fails_low: float | None
    fails: float | None
    fails_high: float | None
    counts: dict[str, int]

    def to_dict(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return asdict(self)


def silence(cursor: duckdb.DuckDBPyConnection, chosen: Selection) -> Silence:
    """Answer `Fleet.silence`."""
    counts = queries.frame(cursor, "metrics/silence", chosen.values).row(0, named=True)
    effect = design_effects(cursor, chosen.values, counts["judged"]).of("came_back_any")
    failing = counts["partly"] + counts["no"]
    came_back, not_working = rates(
        [
            Counted(counts["came_back_any"], counts["judged"], design_effect=effect, name="callback_rate"),
            Counted(failing, failing + counts["works"], name="not_working"),
        ]
    )

    def through(share: float | None) -> float | None:
        if share is None or came_back.rate is None:
            return None
        return came_back.rate + (1 - came_back.rate) * share

    return Silence(
        callback_rate=came_back,
        not_working=not_working,
        fails_low=through(not_working.low),
        fails=through(not_working.rate),
        fails_high=through(not_working.high),
        counts=counts,
    )


def silent_sample(
    cursor: duckdb.DuckDBPyConnection, chosen: Selection, week_of: date, wanted: int
) -> pl.DataFrame:
    """Answer `Fleet.silent_sample`."""
    year, week, _ = week_of.isocalendar()
    values = chosen.values | {"draw": f" {year}-W{week:02d}", "wanted": wanted, "lately": LATELY_DAYS}
    return queries.frame(cursor, "lists/silent_sample", values)
