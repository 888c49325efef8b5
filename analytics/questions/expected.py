"""Which calls would be expected to come back, from what was known before the technician acted."""

from dataclasses import dataclass, field
from typing import Any

import duckdb
import numpy as np
import polars as pl
from scipy.special import expit

from analytics import queries
from analytics.errors import BadQuestion
from analytics.filters import CHOSEN_BY, COMPARED
from analytics.questions.clustering import ALL_UNITS, sample_for
from analytics.questions.reading import in_a_thread
from analytics.questions.selecting import Selection, ground, selection
from analytics.statistics.logistic import Answers, Fit, WithoutGroups, fit, fits_without

KNOWN = ("kind", "unit_age", "product_line", "supply", "payer", "month", "follows")
"""What was known when the technician set out, and nothing that he found, did or wrote down."""
OWN_ANSWER = {"product_family": "product_line"}
"""The answer that is the field compared, and stays out of its model."""


@dataclass(frozen=True)
class Known:
    """Judged calls with what was known before.

    Parameters
    ----------
    calls : DataFrame
        Rows of metrics/known_before, in order of closing.
    came_back : array of bool, shape (calls,)
    unit : array of int, shape (calls,)
        Numbers of the units, from 0.
    """

    calls: pl.DataFrame
    came_back: np.ndarray
    unit: np.ndarray
    _models: dict[str | None, tuple[Answers, Fit]] = field(default_factory=dict, repr=False)

    def model(self, compared: str) -> tuple[Answers, Fit]:
        """Return the design that a comparison of this field may use, and the fit to all calls, made once."""
        own = OWN_ANSWER.get(compared)
        if own not in self._models:
            answers = coded(self.calls, compared)
            self._models[own] = answers, fitted_to(answers, self.came_back)
        return self._models[own]


def coded(calls: pl.DataFrame, compared: str) -> Answers:
    """Return what a comparison of this field may use of these calls, as a design."""
    names = [name for name in KNOWN if name != OWN_ANSWER.get(compared)]
    codes = calls.select(pl.col(names).fill_null("").rank("dense").cast(pl.Int64) - 1).to_numpy()
    return Answers.of(codes, [int(level) + 1 for level in codes.max(axis=0, initial=0)])


def known_before(cursor: duckdb.DuckDBPyConnection, values: dict[str, Any], sample: int = ALL_UNITS) -> Known:
    """Read the judged calls of a selection with what was known of them before; of a sample of units."""
    calls = queries.frame(cursor, "metrics/known_before", values | {"sample": sample})
    unit = calls["unit_hash"].rank("dense").cast(pl.Int64).to_numpy() - 1
    return Known(calls, calls["came_back"].to_numpy().astype(bool), unit)


def fitted_to(answers: Answers, came_back: np.ndarray) -> Fit:
    """Fit to calls, those with the same answers taken together first."""
    columns = pl.DataFrame(answers.columns).with_columns(pl.Series("came_back", came_back))
    names = columns.columns[:-1]
    cells = columns.group_by(names).agg(pl.col("came_back").sum().alias("happened"), pl.len().alias("calls"))
    design = Answers(cells.select(names).to_numpy(), answers.width)
    return fit(design, cells["happened"].to_numpy(), cells["calls"].to_numpy())


def without(
    known: Known, compared: str, member: np.ndarray, group: np.ndarray, groups: int
) -> tuple[WithoutGroups, np.ndarray]:
    """Return the fits without each group, and what each membership's call was expected to do."""
    answers, whole = known.model(compared)
    apart = fits_without(whole, answers, known.came_back, member, group, groups)
    moved = apart.coefficients[group]
    scores = moved[:, 0] + np.take_along_axis(moved, answers.columns[member], axis=1).sum(axis=1)
    return apart, expit(scores)


def expected_returns(
    cursor: duckdb.DuckDBPyConnection, chosen: Selection, compared: str, group: str, others: int = 0
) -> pl.DataFrame:
    """Return a group's judged calls, each with how likely its return was from a fit without the group.

    Parameters
    ----------
    cursor : duckdb.DuckDBPyConnection
    chosen : Selection
        Which calls; its own choice of the field compared is set aside for the fit.
    compared : str
        One of `COMPARED`.
    group : str
        Code of the group.
    others : int
        How many calls of others can be judged, about: of very many a sample of units will do for the fit.

    Returns
    -------
    DataFrame
        Columns call_id, closed_at, unit_hash, came_back (bool), expected (0..1), in order of closing.

    Raises
    ------
    BadQuestion
        When groups of that kind are not compared.
    """
    if compared not in COMPARED:
        raise BadQuestion(f"'{compared}' is not compared. Choose one of {', '.join(COMPARED)}.")
    everybody = chosen.filters.but(**{CHOSEN_BY[compared]: ()})
    asked = in_a_thread(lambda another: known_before(another, chosen.values), cursor.cursor())
    known = known_before(cursor, selection(cursor, ground(cursor), everybody).values, sample_for(others))
    ours = memberships(cursor, known, compared).filter(pl.col("code") == group)["call"]
    apart = known.calls.filter(~pl.int_range(pl.len()).is_in(ours.implode()))
    own = asked()
    answers = coded(pl.concat([own.calls, apart]), compared)
    theirs = np.arange(own.calls.height, own.calls.height + apart.height)
    fitted = fitted_to(answers.taken(theirs), apart["came_back"].to_numpy().astype(bool))
    expected = fitted.expected(answers.taken(np.arange(own.calls.height)))
    columns = ["call_id", "closed_at", "unit_hash", "came_back"]
    return own.calls.select(columns).with_columns(pl.Series("expected", expected, dtype=pl.Float64))


def memberships(cursor: duckdb.DuckDBPyConnection, known: Known, compared: str) -> pl.DataFrame:
    """Return which calls belong to which group: columns call (row of `known`) and code; else no row."""
    belongs = ("technician", "depot", "product_family", "part_set")
    rows = known.calls.select(pl.int_range(pl.len()).alias("call"), *belongs)
    if compared != "part":
        return rows.select("call", pl.col(compared).alias("code")).drop_nulls()
    sets = queries.frame(cursor, "metrics/part_codes")
    return rows.join(sets, on="part_set").select("call", "code").sort("call", "code")
