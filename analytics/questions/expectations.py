"""What each call was expected to do in a comparison by one field, and how much counts vary."""

from dataclasses import dataclass
from datetime import datetime

import numpy as np
import polars as pl

from analytics.questions.expected import Known, without
from analytics.statistics.logistic import Answers, Fit, WithoutGroups
from analytics.statistics.standardised import dispersion


@dataclass(frozen=True)
class Expectations:
    """What each call was expected to do in a comparison by one field.

    Parameters
    ----------
    known : Known
        Judged calls of twelve months.
    answers : Answers
        What the expectation may use.
    codes : list of str
        Codes of the groups.
    member, group : array of int, shape (memberships,)
        Call and group of each membership.
    whole, apart : Fit, WithoutGroups
        Fitted to all calls, and without each group.
    expected : array of float, shape (memberships,)
        From the fit without the group.
    dispersion : float
        Variance of counts over that of independent calls.
    """

    known: Known
    answers: Answers
    codes: list[str]
    member: np.ndarray
    group: np.ndarray
    whole: Fit
    apart: WithoutGroups
    expected: np.ndarray
    dispersion: float

    def within(self, since: datetime) -> tuple[np.ndarray, np.ndarray]:
        """Return which calls, and which memberships, were closed at a moment or later."""
        recent = self.known.calls["closed_at"].to_numpy() >= np.datetime64(since)
        return recent, recent[self.member]

    def counts(self, within: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Return calls, returns and returns expected of each group, of some memberships."""

        def summed(weights: np.ndarray) -> np.ndarray:
            total = np.bincount(self.group[within], weights=weights[within], minlength=len(self.codes))
            return total.astype(np.float64)

        came_back = self.known.came_back[self.member].astype(np.float64)
        return summed(np.ones(len(within))), summed(came_back), summed(self.expected)


def expectations(known: Known, belongs: pl.DataFrame, by: str) -> Expectations:
    """Fit what each call was expected to do; `belongs` as from `memberships`."""
    codes = belongs["code"].unique().sort().to_list()
    member = belongs["call"].to_numpy().astype(np.int64)
    group = belongs["code"].rank("dense").cast(pl.Int64).to_numpy() - 1
    answers, whole = known.model(by)
    apart, expected = without(known, by, member, group, len(codes))
    factor = dispersion(
        known.came_back[member] - expected,
        expected * (1 - expected),
        known.unit[member] * len(codes) + group,
    )
    return Expectations(known, answers, codes, member, group, whole, apart, expected, factor)
