"""The calls behind failures by the age of the filter."""

import duckdb
import polars as pl

from analytics import queries
from analytics.errors import BadQuestion
from analytics.questions.filter_widened import EDGES_DAYS

SUBSET = "filter_failures"
MEASURES = ("began", "called")
FIRST_WEEKS = "first two weeks"
BANDS = ("0-3", "3-6", "6-9", "9-12", "12-18", "18+")
UP_TO_SIX, PAST_SIX = "up_to_6", "past_6"
BETWEEN = ":"
_FOREVER = 10**6
_EDGES = (1, *EDGES_DAYS, _FOREVER)
SPANS: dict[str, tuple[int, int]] = {
    band: (_EDGES[at], _EDGES[at + 1]) for at, band in enumerate((FIRST_WEEKS, *BANDS))
} | {UP_TO_SIX: (_EDGES[1], _EDGES[3]), PAST_SIX: (_EDGES[3], _FOREVER)}
"""First age in days of each span, and the first one after it."""


def at_age(band: str, what: str = "all", measure: str = "began") -> str:
    """Write which failures as they narrow the subset: those of a kind, at an age of the filter.

    Examples
    --------
    >>> at_age("3-6", "flow_linked")
    'began:3-6:flow_linked'
    """
    return BETWEEN.join((measure, band, what))


def read_narrowing(only: str) -> tuple[str, str, str]:
    """Return measure, span and kind of failure of what narrows the subset.

    Raises
    ------
    BadQuestion
        When it names no such failures.
    """
    measure, _, rest = only.partition(BETWEEN)
    span, _, what = rest.partition(BETWEEN)
    if measure not in MEASURES or span not in SPANS or not what:
        legal = f"{', '.join(MEASURES)}; {', '.join(SPANS)}; all, flow_linked or family:<code>"
        raise BadQuestion(
            f"'{only[:60]}' names no failures by filter age. Write {at_age('3-6')}, of: {legal}."
        )
    return measure, span, what


def failures_at_risk(cursor: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Return failures while the age of the filter was known, as lists/filter_failures; `lay_out` was run."""
    return queries.frame(cursor, "lists/filter_failures")


def rows_of(cursor: duckdb.DuckDBPyConnection, failures: pl.DataFrame, only: str) -> pl.Series:
    """Return the rows of marts.calls of some failures, in order; "" for all by the day trouble began.

    Raises
    ------
    BadQuestion
        When `only` names no such failures.
    """
    measure, span, what = read_narrowing(only) if only else (MEASURES[0], "", "all")
    wanted = pl.col("measure") == measure
    if span:
        first, after = SPANS[span]
        wanted &= pl.col("age_days").is_between(first, after, closed="left")
    if what == "flow_linked":
        wanted &= pl.col("flow_linked")
    elif what != "all":
        values = {"symptoms": [], "families": [what.removeprefix("family:")]}
        sets = queries.frame(cursor, "metrics/chosen_symptom_sets", values)["symptom_set"]
        wanted &= pl.col("symptom_set").is_in(sets.to_list())
    return failures.filter(wanted)["row_id"]
