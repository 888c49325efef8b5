"""How far technicians differ in what they record of checks: habits that a lesson might change."""

from typing import Any

import duckdb
import numpy as np
import polars as pl

from analytics import queries
from analytics.habits import Habit
from analytics.questions.habit_ground import HabitGround
from analytics.questions.selecting import Selection
from analytics.questions.skill import DAYS_A_YEAR, coded_mix, trouble
from analytics.statistics.intervals import wilson
from analytics.statistics.many import false_discovery
from analytics.teaching_assumptions import TeachingRules

_FIGURES = ("rate", "low", "high", "spread", "spread_low", "spread_high", "p", "p_adjusted", "usual", "best")
HABITS_SCHEMA = {
    "habit": pl.String,
    "label": pl.String,
    "calls": pl.Int64,
    "happened": pl.Int64,
    "technicians": pl.Int64,
    "left_out": pl.Int64,
    **dict.fromkeys((*_FIGURES, "avoided", "avoided_low", "avoided_high"), pl.Float64),
    "standing": pl.String,
}


def habits(
    cursor: duckdb.DuckDBPyConnection, chosen: Selection, ground: HabitGround, rules: TeachingRules
) -> pl.DataFrame:
    """Answer `Fleet.teaching_habits`; of judged repairs with a cause, the first calls of their strings."""
    repairs = coded_mix(queries.frame(cursor, "metrics/repairs_held", chosen.values))
    firsts = pl.DataFrame({"row_id": ground.row, "at": np.arange(len(ground.row))})
    firsts = firsts.filter(pl.Series(ground.visited)).cast({"row_id": repairs.schema["row_id"]})
    calls = repairs.join(firsts, on="row_id", how="inner", maintain_order="left")
    if calls.is_empty():
        return pl.DataFrame(schema=HABITS_SCHEMA)
    at = calls["at"].to_numpy()
    first, last = calls["closed_at"].min(), calls["closed_at"].max()
    years = ((last - first).total_seconds() / 86400 + 1) / DAYS_A_YEAR  # type: ignore[operator, union-attr]
    found = [
        _habit(
            habit, calls, ground.applies[habit.code][at], ~ground.seldom[at], ~ground.done[habit.code][at],
            years, rules,
        )
        for habit in ground.habits
    ]  # fmt: skip
    frame = pl.DataFrame(found, schema=HABITS_SCHEMA)
    adjusted = iter(false_discovery(frame["p"].drop_nulls().to_list()).tolist())
    values = [None if p is None else next(adjusted) for p in frame["p"]]
    frame = frame.with_columns(pl.Series("p_adjusted", values, dtype=pl.Float64))
    there = (pl.col("p_adjusted") < rules.false_share / 100) & (pl.col("spread_low") > 0)
    alike = pl.col("spread_high") < rules.small_spread
    return frame.with_columns(
        pl.when(there)
        .then(pl.lit("differ"))
        .when(alike)
        .then(pl.lit("alike"))
        .otherwise(pl.lit("few"))
        .alias("standing")
    )


def _habit(
    habit: Habit,
    calls: pl.DataFrame,
    among: np.ndarray,
    records: np.ndarray,
    missing: np.ndarray,
    years: float,
    rules: TeachingRules,
) -> dict[str, Any]:
    kept = among & records
    row: dict[str, Any] = dict.fromkeys(HABITS_SCHEMA)
    row |= {
        "habit": habit.code,
        "label": habit.label,
        "calls": int(kept.sum()),
        "happened": 0,
        "technicians": 0,
    }
    row["left_out"] = int((among & ~records).sum())
    if not kept.any():
        return row
    rows = calls.with_columns(pl.Series("happened", missing)).filter(pl.Series(kept))
    one = trouble(habit.code, "", rows, rules)
    low, high = wilson([one.happened], [one.calls])
    row |= {
        "happened": one.happened, "technicians": len(one.technicians), "rate": one.happened / one.calls,
        "low": float(low[0]), "high": float(high[0]),
    }  # fmt: skip
    if one.spread is None:
        return row
    gains = [max(usual - best, 0.0) * one.calls / years for usual, best in one.shares]
    return row | {
        "spread": one.spread.estimate, "spread_low": one.spread.low, "spread_high": one.spread.high,
        "p": one.spread.p, "usual": one.shares[1][0], "best": one.shares[1][1],
        "avoided": gains[1], "avoided_low": gains[0], "avoided_high": gains[2],
    }  # fmt: skip
