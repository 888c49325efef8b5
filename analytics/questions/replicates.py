"""How far observed over expected would differ had other units been met: a bootstrap over units."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import sparse

from analytics.statistics.logistic import Answers, Fit, WithoutGroups, sums_by_group

if TYPE_CHECKING:
    from analytics.questions.expected import Known

REPLICATES = 200
SEED = 20_260_301
LEAST_COUNT = 0.5
"""Stands in for a sample without a return, so that its logarithm exists."""
LEAST_EXPECTED = 1e-9


@dataclass(frozen=True)
class Replicates:
    """Samples of units, and what observed and expected counts are made of in each.

    A unit is drawn a Poisson number of times (Hanley JA, MacGibbon B (2006), Computer Methods and Programs in
    Biomedicine 83:57-62, from memory). In each sample the expectation is fitted anew without the group: one
    Newton step from the fit at hand, followed along the slope of the expected count's logarithm. A test holds
    the result to one from fits to convergence.

    Parameters
    ----------
    drawn : array of float, shape (units, replicates)
        How many times each unit is in each sample.
    unit, group : array of int, shape (memberships,)
        Unit and group of each membership.
    came_back, expected : array of float, shape (memberships,)
        What happened, and what was expected from the fit without the group.
    score : array of float, shape (memberships,)
        What happened minus what the fit to all calls has.
    columns : array of int, shape (memberships, answers + 1)
        Columns of the design that are one, the intercept's among them.
    pulls : array of float, shape (width, replicates)
        By how much the scores of all calls together differ in each sample.
    inverse : array of float, shape (groups, width, width)
        Inverse of the information that the other calls carry.
    """

    drawn: np.ndarray
    unit: np.ndarray
    group: np.ndarray
    came_back: np.ndarray
    expected: np.ndarray
    score: np.ndarray
    columns: np.ndarray
    pulls: np.ndarray
    inverse: np.ndarray

    @classmethod
    def of(
        cls,
        known: "Known",
        answers: Answers,
        whole: Fit,
        apart: WithoutGroups,
        member: np.ndarray,
        group: np.ndarray,
        expected: np.ndarray,
    ) -> "Replicates":
        """Draw the samples for calls in groups."""
        calls, units = len(known.came_back), int(known.unit.max()) + 1
        drawn = np.random.default_rng(SEED).poisson(1.0, (units, REPLICATES)).astype(np.float64)
        score = known.came_back - whole.expected(answers)
        columns = np.concatenate([np.zeros((calls, 1), dtype=np.int64), answers.columns], axis=1)
        wide = columns.shape[1]
        scores = sparse.csr_matrix(
            (np.repeat(score, wide), (np.repeat(known.unit, wide), columns.ravel())),
            shape=(units, answers.width),
        )
        return cls(
            drawn,
            known.unit[member],
            group,
            known.came_back[member].astype(np.float64),
            expected,
            score[member],
            columns[member],
            scores.T @ (drawn - 1),
            apart.inverse,
        )

    def errors(self, within: np.ndarray) -> np.ndarray:
        """Return the standard error of log(observed / expected) of each group.

        Parameters
        ----------
        within : array of bool, shape (memberships,)
            Which calls are counted; the expectations come from all of them.
        """
        groups, width, _ = self.inverse.shape
        rising = np.where(within, self.expected * (1 - self.expected), 0.0)
        slopes = sums_by_group(self.group, self.columns, rising, groups, width)
        solved = (self.inverse @ slopes[:, :, None])[:, :, 0]
        own = self.score * np.take_along_axis(solved[self.group], self.columns, axis=1).sum(axis=1)
        observed = self._by_group(np.where(within, self.came_back, 0.0)) @ self.drawn
        refitted = solved @ self.pulls - self._by_group(own) @ (self.drawn - 1)
        counted = np.where(within, self.expected, 0.0)
        usual = np.maximum(np.bincount(self.group, weights=counted, minlength=groups), LEAST_EXPECTED)
        expected = np.maximum(self._by_group(counted) @ self.drawn, LEAST_EXPECTED)
        # along the slope of the logarithm, as rare events have it, so that no expectation falls below 0
        logs = np.log(np.maximum(observed, LEAST_COUNT) / expected) - refitted / usual[:, None]
        errors: np.ndarray = logs.std(axis=1, ddof=1)
        return errors

    def _by_group(self, values: np.ndarray) -> sparse.csr_matrix:
        return sparse.csr_matrix(
            (values, (self.group, self.unit)), shape=(len(self.inverse), len(self.drawn))
        )
