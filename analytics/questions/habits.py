"""Habits: how often a step is not recorded before a diagnosis, and how those calls fared afterwards."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.errors import BadQuestion
from analytics.habits import Habit
from analytics.questions.check_ground import Flags
from analytics.questions.checks import ChosenRepairs
from analytics.questions.comparing import FALSE_SHARE, LEAST_RANKED
from analytics.questions.habit_ground import HabitGround
from analytics.statistics.intervals import wilson
from analytics.statistics.many import false_discovery
from analytics.statistics.within_strata import difference_within

OUTCOMES = ("different", "came_back", "minutes")
"""What became of calls: first taken for something else, came back, minutes on site on returns."""

HABITS_SCHEMA: dict[str, Any] = {
    "habit": pl.String, "label": pl.String, "before": pl.String, "why": pl.String,
    "not_recorded": pl.Int64, "calls": pl.Int64, "rate": pl.Float64, "low": pl.Float64, "high": pl.Float64,
    "left_out": pl.Int64, "technicians": pl.Int64, "lower_quarter": pl.Float64, "median": pl.Float64,
    "upper_quarter": pl.Float64, "more_than_half": pl.Int64,
}  # fmt: skip
FARED_SCHEMA: dict[str, Any] = {
    "habit": pl.String, "outcome": pl.String,
    "without": pl.Float64, "without_sum": pl.Float64, "without_calls": pl.Int64,
    "with": pl.Float64, "with_sum": pl.Float64, "with_calls": pl.Int64,
    "difference": pl.Float64, "low": pl.Float64, "high": pl.Float64,
    "p": pl.Float64, "p_adjusted": pl.Float64, "differs": pl.Boolean,
    "compared": pl.Int64, "clusters": pl.Int64,
}  # fmt: skip


@dataclass(frozen=True)
class Habits:
    """Steps that belong before a diagnosis. A call here is the first of its string of returns.

    Parameters
    ----------
    calls : int
        First calls chosen, with a visit, whose string of returns is 30 days past its last closing.
    technicians_left_out, calls_left_out : int
        Technicians who record checks on fewer than half of their visits, and their calls.
    habits : pl.DataFrame
        One row a habit, most often not recorded first: habit, label, before, why; not_recorded, calls (to
        which it applies), rate with limits; left_out (calls that it applies to, of technicians left out); and
        of technicians with at least 20 such calls how many there are, the quarters of their shares not
        recorded, and how many do not record it on more than half.
    fared : pl.DataFrame
        One row a habit and outcome (of `outcomes_of`): mean, sum and calls without and with the step;
        difference (without less with) held equal for kind of complaint, product family and band of filter
        age, its limits, chance, and chance adjusted for all these looks; differs (below 0.05); compared
        (calls that could be) and clusters (technicians, or units where that is wider).
    """

    calls: int
    technicians_left_out: int
    calls_left_out: int
    habits: pl.DataFrame
    fared: pl.DataFrame

    def outcome(self, habit: str, outcome: str) -> dict[str, Any]:
        """Return one row of `fared`."""
        return self.fared.filter(habit=habit, outcome=outcome).row(0, named=True)

    def to_dict(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return vars(self) | {"habits": self.habits.to_dicts(), "fared": self.fared.to_dicts()}


def outcomes_of(habit: Habit) -> tuple[str, ...]:
    """Return what can follow from a habit: a proof at the end comes too late for the first thought."""
    return OUTCOMES[1:] if habit.proof else OUTCOMES


def chosen_calls(ground: HabitGround, here: ChosenRepairs) -> Flags:
    """Mark the strings that are looked at: chosen, 30 days up, and somebody went."""
    return here.settled[ground.row] & ground.visited


def habits(ground: HabitGround, here: ChosenRepairs) -> Habits:
    """Answer `FleetWrongTurns.habits`."""
    chosen = chosen_calls(ground, here)
    left_out, kept = chosen & ground.seldom, chosen & ~ground.seldom
    rows = [_row(ground, habit.code, kept, left_out) for habit in ground.habits]
    named = [
        {"habit": each.code, "label": each.label, "before": each.before, "why": each.why} | row
        for each, row in zip(ground.habits, rows, strict=True)
    ]
    fared = [
        _fared(ground, each.code, outcome, kept) for each in ground.habits for outcome in outcomes_of(each)
    ]
    found = pl.DataFrame(fared, schema=FARED_SCHEMA)
    return Habits(
        calls=int(np.count_nonzero(chosen)),
        technicians_left_out=len(np.unique(ground.technician[left_out])),
        calls_left_out=int(np.count_nonzero(left_out)),
        habits=pl.DataFrame(named, schema=HABITS_SCHEMA).sort(pl.col("rate").neg(), "label", nulls_last=True),
        fared=_looked_at_once(found),
    )


def _row(ground: HabitGround, code: str, kept: Flags, left_out: Flags) -> dict[str, Any]:
    applies = ground.applies[code] & kept
    missing = applies & ~ground.done[code]
    over, of = int(np.count_nonzero(missing)), int(np.count_nonzero(applies))
    low, high = wilson([over], [of])
    shares = _by_technician(ground.technician, missing, applies)
    quarters = np.quantile(shares, [0.25, 0.5, 0.75]).tolist() if len(shares) else [None] * 3
    return {
        "not_recorded": over,
        "calls": of,
        "rate": over / of if of else None,
        "low": float(low[0]) if of else None,
        "high": float(high[0]) if of else None,
        "left_out": int(np.count_nonzero(ground.applies[code] & left_out)),
        "technicians": len(shares),
        "lower_quarter": quarters[0],
        "median": quarters[1],
        "upper_quarter": quarters[2],
        "more_than_half": int(np.count_nonzero(shares > 0.5)),
    }


def _by_technician(technician: NDArray[np.int64], missing: Flags, applies: Flags) -> NDArray[np.float64]:
    """Share not recorded of each technician with enough calls, without a name."""
    of = np.bincount(technician[applies])
    over = np.bincount(technician[missing], minlength=len(of))
    enough = of >= LEAST_RANKED
    result: NDArray[np.float64] = over[enough] / of[enough]
    return result


def _fared(ground: HabitGround, code: str, outcome: str, kept: Flags) -> dict[str, Any]:
    of = kept & ground.applies[code] & (ground.known if outcome == "different" else True)
    values = getattr(ground, outcome)[of].astype(np.float64)
    without = ~ground.done[code][of]
    found = difference_within(values, without, ground.stratum[of], (ground.technician[of], ground.unit[of]))
    row: dict[str, Any] = {"habit": code, "outcome": outcome, "p_adjusted": None, "differs": False}
    for name, those in (("without", without), ("with", ~without)):
        total, calls = float(values[those].sum()), int(np.count_nonzero(those))
        row |= {name: total / calls if calls else None, f"{name}_sum": total, f"{name}_calls": calls}
    return row | {
        "difference": found.value if found else None,
        "low": found.low if found else None,
        "high": found.high if found else None,
        "p": found.p if found else None,
        "compared": found.rows if found else 0,
        "clusters": found.clusters if found else 0,
    }


def _looked_at_once(found: pl.DataFrame) -> pl.DataFrame:
    """Adjust the chances for how many there are."""
    told = found["p"].is_not_null()
    adjusted = np.full(found.height, np.nan)
    adjusted[told.to_numpy()] = false_discovery(found["p"].drop_nulls().to_numpy())
    return found.with_columns(
        pl.Series("p_adjusted", adjusted, nan_to_null=True),
        pl.Series("differs", np.nan_to_num(adjusted, nan=1.0) < FALSE_SHARE),
    )


def rows_of(ground: HabitGround, here: ChosenRepairs, subset: str, only: str = "") -> list[int]:
    """Return the rows, in marts.calls, of one of `subsets.OF_A_HABIT`, in order; of one habit, or of any.

    Raises
    ------
    BadQuestion
        When there is no such habit.
    """
    codes = [habit.code for habit in ground.habits]
    if only and only not in codes:
        raise BadQuestion(f"There is no habit '{only[:40]}'. Choose one of {', '.join(codes)}.")
    seldom = ground.seldom if subset == "habit_left_out" else ~ground.seldom
    chosen = chosen_calls(ground, here) & seldom
    if subset.endswith("_different"):
        chosen &= ground.different
    elif subset.endswith("_came_back"):
        chosen &= ground.came_back
    found = np.zeros(len(chosen), dtype=np.bool_)
    for code in [only] if only else codes:
        applies, done = ground.applies[code], ground.done[code]
        missing, recorded = subset.startswith("habit_missing"), subset.startswith("habit_recorded")
        found |= applies & (~done if missing else done if recorded else True)
    rows: list[int] = ground.row[found & chosen].tolist()
    return rows
