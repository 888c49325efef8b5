"""Which groups are worth a look: those whose returns chance does not explain, within one error budget."""

from collections.abc import Mapping
from typing import Any, NamedTuple

import numpy as np
import polars as pl

from analytics.questions.comparing import LEAST_RANKED
from analytics.questions.comparison import Comparison
from analytics.statistics.standardised import more_than

BUDGET = 0.04
"""Probability that a week has any group on its list where nobody differs."""
SHARES = {
    ("technician", "year"): 0.30,
    ("depot", "year"): 0.10,
    ("depot", "week"): 0.10,
    ("part", "year"): 0.15,
    ("part", "week"): 0.10,
    ("product_family", "year"): 0.15,
    ("product_family", "week"): 0.10,
}
"""How the budget is split over the comparisons; within one, evenly over the groups tested (Bonferroni)."""

SCHEMA: dict[str, Any] = {
    "by": pl.String,
    "period": pl.String,
    "group": pl.String,
    "label": pl.String,
    "calls": pl.Int64,
    "came_back": pl.Int64,
    "expected": pl.Float64,
    "ratio": pl.Float64,
    "low": pl.Float64,
    "high": pl.Float64,
    "shrunk": pl.Float64,
    "extra_returns": pl.Float64,
    "since": pl.Datetime("us"),
    "until": pl.Datetime("us"),
}


class Counts(NamedTuple):
    """Groups of one comparison: calls, returns, returns expected; what counts vary by; calls in all."""

    calls: np.ndarray
    came_back: np.ndarray
    expected: np.ndarray
    dispersion: float
    all_calls: int


def stands_out(tested: Counts, share: float) -> np.ndarray:
    """Say of each group whether it has more returns than chance explains.

    The expectation comes from the other calls and varies itself: the fewer they are, the more. So the
    variance of a count is multiplied by all calls over the other calls, as for the ratio of two counts.

    Parameters
    ----------
    tested : Counts
    share : float
        Share of the budget that is spent on the comparison.

    Returns
    -------
    array of bool, shape (groups,)
        False for groups with fewer than `LEAST_RANKED` calls, which are not tested.
    """
    enough = tested.calls >= LEAST_RANKED
    if not enough.any():
        return enough
    others = np.maximum(tested.all_calls - tested.calls, 1)
    p = more_than(tested.came_back, tested.expected, tested.dispersion * tested.all_calls / others)
    result: np.ndarray = enough & (p < BUDGET * share / enough.sum())
    return result


def worth_a_look(found: Mapping[tuple[str, str], Comparison]) -> pl.DataFrame:
    """Answer `Fleet.worth_a_look` from the comparisons by field and period."""
    rows = [pl.DataFrame(schema=SCHEMA)]
    for key, share in SHARES.items():
        one = found[key]
        groups = one.groups
        calls, came_back, expected = (groups[name].to_numpy() for name in ("calls", "came_back", "expected"))
        tested = Counts(calls, came_back, expected, one.dispersion, one.calls)
        listed = groups.filter(pl.Series(stands_out(tested, share)))
        said = {"by": one.by, "period": one.period, "since": one.since, "until": one.until}
        values = [pl.lit(value, dtype=SCHEMA[name]).alias(name) for name, value in said.items()]
        rows.append(listed.with_columns(values).select(SCHEMA.keys()))
    once = pl.concat(rows).unique(["by", "group"], keep="first", maintain_order=True)
    return once.sort("extra_returns", descending=True, nulls_last=True)
