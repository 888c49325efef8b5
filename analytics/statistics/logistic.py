"""Expected shares from what was known: logistic regression on answers that take one of a few levels."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.special import expit

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

RIDGE = 1.0
"""Penalty on each coefficient but the intercept: that of a standard normal prior, so that a level with few
calls is pulled to the average and one without a return still has an expectation."""
WEAKEST = 1e-5
"""Penalty on the intercept, about the share of all: next to nothing, but where nothing or everything came
back it keeps the estimate finite."""
MOST_STEPS = 50
SMALL_STEP = 1e-6


@dataclass(frozen=True)
class Answers:
    """What was known of each call, as columns of a design.

    Parameters
    ----------
    columns : array of int, shape (calls, answers)
        For each call and answer, which column of the design is one; column 0 is the intercept and not listed.
    width : int
        Columns of the design, the intercept among them.
    """

    columns: Integers
    width: int

    @classmethod
    def of(cls, codes: Integers, levels: list[int]) -> "Answers":
        """Return the design of codes.

        Parameters
        ----------
        codes : array of int, shape (calls, answers)
            Level of each answer, 0 to one less than the number of its levels.
        levels : list of int, length answers
            Number of levels of each answer.
        """
        starts = 1 + np.concatenate([[0], np.cumsum(levels)[:-1]]).astype(np.int64)
        return cls(codes + starts, 1 + sum(levels))

    def taken(self, rows: NDArray[np.generic]) -> "Answers":
        """Return the design of some calls."""
        return Answers(self.columns[rows], self.width)

    def matrix(self) -> sparse.csr_matrix:
        """Return the design as a sparse matrix, the intercept first."""
        calls, answers = self.columns.shape
        columns = np.concatenate([np.zeros((calls, 1), dtype=np.int64), self.columns], axis=1)
        ends = np.arange(0, (answers + 1) * (calls + 1), answers + 1)
        return sparse.csr_matrix((np.ones(columns.size), columns.ravel(), ends), shape=(calls, self.width))

    def scores(self, coefficients: Floats) -> Floats:
        """Return the linear predictor of each call, shape (calls,)."""
        result: Floats = coefficients[0] + coefficients[self.columns].sum(axis=1)
        return result


@dataclass(frozen=True)
class Fit:
    """A fitted logistic regression.

    Parameters
    ----------
    coefficients : array of float, shape (width,)
        Intercept, then one for each level of each answer.
    information : array of float, shape (width, width)
        Second derivative of the penalised log likelihood, sign turned.
    """

    coefficients: Floats
    information: Floats

    def expected(self, answers: Answers) -> Floats:
        """Return the probability of each call, shape (calls,)."""
        result: Floats = expit(answers.scores(self.coefficients))
        return result


def fit(
    answers: Answers,
    happened: NDArray[np.generic],
    calls: NDArray[np.generic],
    begin: Floats | None = None,
    ridge: float = RIDGE,
) -> Fit:
    """Fit by penalised maximum likelihood (Newton's method).

    Parameters
    ----------
    answers : Answers
        One row a call, or a group of calls with the same answers.
    happened, calls : array, shape (rows,)
        To how many of how many it happened; 0..calls, and weights need not be whole.
    begin : array of float, shape (width,), optional
        Coefficients to begin from.
    ridge : float
        Penalty: half of it times the square of each coefficient but the intercept.

    Notes
    -----
    The same estimate as scikit-learn's `LogisticRegression(C=1 / ridge)`, which a test holds it to; written
    out because the fits without each group, below, need the information matrix.
    """
    design = answers.matrix()
    y, n = np.asarray(happened, dtype=float), np.asarray(calls, dtype=float)
    penalty = np.full(answers.width, ridge)
    penalty[0] = WEAKEST
    centre = np.zeros(answers.width)
    share = (y.sum() + 0.5) / (n.sum() + 1)
    centre[0] = np.log(share / (1 - share))
    beta = centre if begin is None else begin
    for _ in range(MOST_STEPS):
        p = expit(answers.scores(beta))
        gradient = design.T @ (y - n * p) - penalty * (beta - centre)
        information = _information(design, n * p * (1 - p)) + np.diag(penalty)
        step = np.linalg.solve(information, gradient)
        step *= min(1.0, 5.0 / max(np.abs(step).max(), 1e-12))
        beta = beta + step
        if np.abs(step).max() < SMALL_STEP:
            break
    return Fit(beta, information)


def _information(design: sparse.csr_matrix, weights: Floats) -> Floats:
    result: Floats = (design.T @ sparse.diags(weights) @ design).toarray()
    return result


LARGE_SHARE = 0.1
"""A group with more of the calls gets a fit of its own; for smaller ones one Newton step will do."""


@dataclass(frozen=True)
class WithoutGroups:
    """Fits without the calls of each group in turn.

    Parameters
    ----------
    coefficients : array of float, shape (groups, width)
    inverse : array of float, shape (groups, width, width)
        Inverse of the information that the other calls carry: what turns their scores into coefficients.
    """

    coefficients: Floats
    inverse: Floats


def fits_without(
    whole: Fit,
    answers: Answers,
    happened: NDArray[np.generic],
    member: Integers,
    group: Integers,
    groups: int,
) -> WithoutGroups:
    """Fit again without each group's calls.

    Parameters
    ----------
    whole : Fit
        Of all calls.
    answers : Answers
        One row a call.
    happened : array of bool, shape (calls,)
    member, group : array of int, shape (memberships,)
        Call and group of each membership; a call can be in several groups, or in none.
    groups : int
        Number of groups.

    Notes
    -----
    One Newton step from the whole fit, exact to second order in what the group moves; with more than
    `LARGE_SHARE` of the calls, to convergence. (One-step estimates for case deletion: Pregibon D (1981),
    Annals of Statistics 9:705-724, from memory.)
    """
    y = np.asarray(happened, dtype=float)
    p = whole.expected(answers)
    columns = np.concatenate([np.zeros((len(y), 1), dtype=np.int64), answers.columns], axis=1)[member]
    width = answers.width
    pull = sums_by_group(group, columns, (y - p)[member], groups, width)
    left = whole.information[None] - _information_of(group, columns, (p * (1 - p))[member], groups, width)
    inverse = np.linalg.inv(left).astype(np.float64)
    coefficients: Floats = whole.coefficients - (inverse @ pull[:, :, None])[:, :, 0]
    sizes = np.bincount(group, minlength=groups)
    for large in np.flatnonzero(sizes > LARGE_SHARE * len(y)):
        kept = np.ones(len(y), dtype=bool)
        kept[member[group == large]] = False
        if kept.any():
            again = fit(answers.taken(kept), y[kept], np.ones(kept.sum()), coefficients[large])
            coefficients[large] = again.coefficients
    return WithoutGroups(coefficients, inverse)


def sums_by_group(group: Integers, columns: Integers, values: Floats, groups: int, width: int) -> Floats:
    """Sum the values of memberships by group and column of the design, shape (groups, width)."""
    at = group[:, None] * width + columns
    spread = np.broadcast_to(values[:, None], columns.shape)
    total = np.bincount(at.ravel(), weights=spread.ravel(), minlength=groups * width)
    return total.reshape(groups, width).astype(np.float64)


def _information_of(group: Integers, columns: Integers, weights: Floats, groups: int, width: int) -> Floats:
    """Return the information that each group's calls carry, shape (groups, width, width)."""
    total = np.zeros(groups * width * width)
    for first in range(columns.shape[1]):
        at = (group * width + columns[:, first])[:, None] * width + columns
        spread = np.broadcast_to(weights[:, None], columns.shape)
        total += np.bincount(at.ravel(), weights=spread.ravel(), minlength=len(total))
    return total.reshape(groups, width, width)
