"""Where each habit applies and where it is recorded, whatever is chosen: read once a generation."""

from collections.abc import Sequence
from dataclasses import dataclass

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics import queries
from analytics.habits import Habit
from analytics.questions.check_ground import PROVED, CheckGround, Flags
from analytics.questions.first_thoughts import FirstThoughts

NO_FILTER = "not_applicable"
ALIKE = ("product_family", "filter_age_band")
"""What calls have to share, beside the kind of complaint, to be compared."""


@dataclass(frozen=True)
class HabitGround:
    """Arrays by string of returns, in the order of `FirstThoughts.strings`.

    Parameters
    ----------
    habits : tuple of Habit
    applies, done : dict of code to array of bool
        Whether the habit applies to the first call, and whether it is recorded on it.
    row : array of int
        Row of the first call in marts.calls.
    stratum : array of int
        Number of the combination of kind of complaint, product family and band of filter age.
    technician, unit : array of int
        Whose repair the first call is (those not recorded taken together), and its unit, as numbers.
    seldom : array of bool
        The technician records checks on fewer than half of the visits.
    visited : array of bool
        Somebody went; everybody, where no visit was loaded.
    known, different, came_back : array of bool
        First thought and final cause known; something else; the first call came back.
    minutes : array of float
        On site on returns, visits not timed left out.
    """

    habits: tuple[Habit, ...]
    applies: dict[str, Flags]
    done: dict[str, Flags]
    row: NDArray[np.int64]
    stratum: NDArray[np.int64]
    technician: NDArray[np.int64]
    unit: NDArray[np.int64]
    seldom: Flags
    visited: Flags
    known: Flags
    different: Flags
    came_back: Flags
    minutes: NDArray[np.float64]


def habit_ground(
    cursor: duckdb.DuckDBPyConnection,
    ground: CheckGround,
    thoughts: FirstThoughts,
    habits: Sequence[Habit],
) -> HabitGround:
    """Read it."""
    strings = thoughts.strings
    wanted = {
        "checks": sorted({code for habit in habits for code in habit.every_check}),
        "parts": sorted({code for habit in habits for code in habit.every_part}),
    }
    first = queries.frame(cursor, "metrics/on_first_visit", wanted)
    row = strings["row_id"].to_numpy().astype(np.int64)
    symptom_set = ground.symptom_set[row]
    return HabitGround(
        habits=tuple(habits),
        applies={habit.code: _applies(cursor, habit, strings, symptom_set, first) for habit in habits},
        done={habit.code: _done(cursor, habit, ground, first)[row] for habit in habits},
        row=row,
        stratum=_strata(cursor, strings, symptom_set),
        technician=ground.technician[row].astype(np.int64),
        unit=ground.unit[row].astype(np.int64),
        seldom=ground.seldom[row],
        visited=strings["visited"].to_numpy(),
        known=strings["standing"].is_not_null().to_numpy(),
        different=(strings["standing"] == "different").fill_null(False).to_numpy(),
        came_back=(strings["returns"] > 0).to_numpy(),
        minutes=strings["return_minutes"].to_numpy(),
    )


def _applies(
    cursor: duckdb.DuckDBPyConnection,
    habit: Habit,
    strings: pl.DataFrame,
    symptom_set: NDArray[np.int32],
    first: pl.DataFrame,
) -> Flags:
    found = np.ones(strings.height, dtype=np.bool_)
    if habit.families:
        families = {"families": list(habit.families), "symptoms": []}
        sets = queries.frame(cursor, "metrics/chosen_symptom_sets", families)["symptom_set"]
        found &= np.isin(symptom_set, sets.to_numpy())
    if habit.filter_fitted:
        found &= (strings["filter_age_band"].cast(pl.String) != NO_FILTER).to_numpy()
    if habit.causes or habit.every_part:
        thought = strings["first_thought"].cast(pl.String).is_in(habit.causes).fill_null(False).to_numpy()
        fitted = first.filter(what="part").filter(pl.col("code").is_in(habit.every_part))["row_id"]
        found &= thought | np.isin(strings["row_id"].to_numpy(), fitted.unique().to_numpy())
    return found


def _done(cursor: duckdb.DuckDBPyConnection, habit: Habit, ground: CheckGround, first: pl.DataFrame) -> Flags:
    """Mark the calls on which a habit is recorded, by row of the call."""
    found = ground.proof == PROVED if habit.proof else np.zeros(ground.size, dtype=np.bool_)
    made = first.filter(what="check").filter(pl.col("code").is_in(habit.every_check))["row_id"].to_numpy()
    found = found | ground.flags(made)
    if habit.answer:
        asked = {"field": habit.answer, "levels": list(habit.levels), "but": list(habit.but)}
        answered = queries.frame(cursor, "metrics/answers_recorded", asked)["row_id"].to_numpy()
        found |= ground.flags(answered[answered < ground.size])  # calls beyond are no repairs
    return found


def _strata(
    cursor: duckdb.DuckDBPyConnection, strings: pl.DataFrame, symptom_set: NDArray[np.int32]
) -> NDArray[np.int64]:
    families = queries.frame(cursor, "metrics/check_groups", {"by": "family"})
    kinds = families.group_by("symptom_set").agg(pl.col("group").sort().str.join("+").alias("kind"))
    alike = strings.select(ALIKE).with_columns(pl.Series("symptom_set", symptom_set))
    alike = alike.join(
        kinds.with_columns(pl.col("symptom_set").cast(pl.Int32)),
        on="symptom_set",
        how="left",
        maintain_order="left",
    )
    numbers = alike.select(pl.struct(*ALIKE, "kind").rank("dense").cast(pl.Int64) - 1)
    return numbers.to_series().to_numpy()
