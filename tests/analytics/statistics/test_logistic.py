"""Expected shares: held to scikit-learn, and fits without a group to fits made without it."""

import numpy as np
import pytest
from sklearn.linear_model import LogisticRegression

from analytics.statistics.logistic import Answers, fit, fits_without


def drawn(seed: int = 1, calls: int = 3000, groups: int = 30):
    rng = np.random.default_rng(seed)
    codes = np.column_stack([rng.integers(0, levels, calls) for levels in (5, 3, 4)])
    group = rng.choice(groups, calls, p=rng.dirichlet(np.full(groups, 3.0)))
    happened = rng.random(calls) < 0.03 + 0.03 * codes[:, 0] + 0.01 * (group % 5)
    return Answers.of(codes, [5, 3, 4]), happened, group


def by_scikit_learn(answers, happened, weights=None):
    model = LogisticRegression(C=1.0, solver="newton-cholesky", tol=1e-10)
    return model.fit(answers.matrix()[:, 1:], happened, sample_weight=weights)


def test_fit_is_that_of_scikit_learn():
    answers, happened, _ = drawn()
    ours, theirs = fit(answers, happened, np.ones(len(happened))), by_scikit_learn(answers, happened)
    assert ours.coefficients[1:] == pytest.approx(theirs.coef_[0], abs=1e-5)
    assert ours.coefficients[0] == pytest.approx(theirs.intercept_[0], abs=1e-5)
    assert ours.expected(answers) == pytest.approx(
        theirs.predict_proba(answers.matrix()[:, 1:])[:, 1], abs=1e-6
    )


def test_calls_with_the_same_answers_can_be_taken_together():
    answers, happened, _ = drawn(calls=800)
    cells, at = np.unique(answers.columns, axis=0, return_inverse=True)
    counts = np.bincount(at), np.bincount(at, weights=happened)
    together = fit(Answers(cells, answers.width), counts[1], counts[0])
    apart = fit(answers, happened, np.ones(len(happened)))
    assert together.coefficients == pytest.approx(apart.coefficients, abs=1e-6)


def without_by_scikit_learn(answers, happened, group, one):
    kept = group != one
    model = by_scikit_learn(answers.taken(kept), happened[kept])
    return model.predict_proba(answers.taken(~kept).matrix()[:, 1:])[:, 1].sum()


def ours_without(answers, happened, group, one, coefficients):
    return (1 / (1 + np.exp(-answers.taken(group == one).scores(coefficients[one])))).sum()


def test_fits_without_each_group_are_those_made_without_it():
    answers, happened, group = drawn()
    whole = fit(answers, happened, np.ones(len(happened)))
    found = fits_without(whole, answers, happened, np.arange(len(group)), group, 30)
    for one in range(30):
        wanted = without_by_scikit_learn(answers, happened, group, one)
        assert ours_without(answers, happened, group, one, found.coefficients) == pytest.approx(
            wanted, rel=0.01
        )


def test_a_fit_that_keeps_the_group_is_caught():
    """The same check, on the fit to all calls: an outlying group pulls its own expectation up."""
    answers, happened, group = drawn()
    happened = happened | (group == 3)
    whole = fit(answers, happened, np.ones(len(happened)))
    kept = np.tile(whole.coefficients, (30, 1))
    wanted = without_by_scikit_learn(answers, happened, group, 3)
    assert ours_without(answers, happened, group, 3, kept) != pytest.approx(wanted, rel=0.01)
    found = fits_without(whole, answers, happened, np.arange(len(group)), group, 30)
    assert ours_without(answers, happened, group, 3, found.coefficients) == pytest.approx(wanted, rel=0.02)


def test_a_large_group_is_left_out_exactly():
    answers, happened, _ = drawn()
    half = (np.arange(len(happened)) % 2).astype(np.int64)
    whole = fit(answers, happened, np.ones(len(happened)))
    found = fits_without(whole, answers, happened, np.arange(len(half)), half, 2)
    for one in (0, 1):
        wanted = without_by_scikit_learn(answers, happened, half, one)
        assert ours_without(answers, happened, half, one, found.coefficients) == pytest.approx(
            wanted, rel=1e-4
        )


def test_level_in_which_nothing_happened_still_has_an_expectation():
    answers, happened, _ = drawn(calls=500)
    happened = happened & (answers.columns[:, 0] != answers.columns[:, 0].max())
    expected = fit(answers, happened, np.ones(500)).expected(answers)
    assert (expected > 0.0005).all()
    assert (expected < 0.6).all()
