"""Excess above expectation: by hand, and how often its interval holds a truth that is known."""

from functools import cache

import numpy as np
import pytest
from scipy import stats

from analytics.statistics.excess import excess, pulled

REPLICATES = 400
GROUPS = 14
BAND = (0.92, 0.98)
"""95% and nearly three standard errors of the share of so many replicates."""


def test_few_groups_are_not_pulled() -> None:
    """Two groups of 25 expected, 30 and 20 seen: half their difference is normal with mean 5.

    Its spread s is sqrt(25 / 2), and what a normal draw has above 0 is s (z Phi(z) + phi(z)), z = mean / s.
    """
    found = excess([30, 20], [25, 25], [25, 25])
    assert found.ratio == pytest.approx([1.2, 0.8], abs=0.01)
    spread = np.sqrt(12.5)
    z = np.array([5, -5]) / spread
    assert found.excess == pytest.approx(spread * (z * stats.norm.cdf(z) + stats.norm.pdf(z)), rel=0.06)


def test_eight_schools() -> None:
    """Medians and 95% limits of Gelman and others (2013), Bayesian Data Analysis, table 5.3 (from memory).

    Theirs come from 200 draws, so that limits may differ by a few points.
    """
    drawn = pulled([28, 8, -3, 7, -1, 1, 18, 12], [15, 10, 16, 11, 9, 11, 10, 18])
    low, median, high = np.quantile(drawn, [0.025, 0.5, 0.975], axis=0)
    assert median == pytest.approx([10, 8, 7, 8, 5, 6, 10, 8], abs=1.5)
    assert low == pytest.approx([-2, -5, -11, -7, -9, -7, -1, -6], abs=4)
    assert high[:5] == pytest.approx([31, 23, 19, 21, 18], abs=4)


def test_many_calls_leave_the_excess_as_it_is() -> None:
    expected = np.full(8, 10_000.0)
    observed = expected * np.array([1.2, 1.1, 1, 1, 1, 0.9, 0.9, 0.9])
    found = excess(observed, expected, expected)
    assert found.excess[0] == pytest.approx(2000, rel=0.02)
    assert found.excess[-1] == pytest.approx(0, abs=1)


def test_few_calls_are_pulled_further() -> None:
    observed, expected = np.array([15.0, 150, 100, 90, 110, 95]), np.array([10.0, 100, 100, 100, 100, 100])
    found = excess(observed, expected, expected)
    assert 1 < found.ratio[0] < found.ratio[1] < 1.5


def test_same_numbers_give_the_same_draws() -> None:
    asked = ([12, 9, 30, 8, 11], [10.0] * 5, [10.0] * 5)
    assert np.array_equal(excess(*asked).draws, excess(*asked).draws)
    assert excess([], [], []).draws.shape[1] == 0


@cache
def coverage(pull: bool = True, clustered: bool = True) -> float:
    """Share of replicates in which the interval of the whole excess holds the truth.

    Groups differ with a standard deviation of 25%; counts vary twice as much as independent ones; what is
    expected is at the rate of all as seen, what is true at the true one.
    """
    held = 0
    for seed in range(REPLICATES):
        rng = np.random.default_rng(seed)
        calls = rng.uniform(15, 120, size=GROUPS)
        true = calls * np.exp(rng.normal(0, 0.25, size=GROUPS))
        observed = rng.negative_binomial(true, 0.5)
        expected = calls * observed.sum() / calls.sum()
        variance = (observed + expected) / 2 * (2 if clustered else 1)
        if pull:
            whole = excess(observed, expected, variance).draws.sum(axis=1)
        else:
            draws = rng.normal(observed, np.sqrt(variance), (2000, GROUPS))
            whole = np.maximum(draws - expected, 0).sum(axis=1)
        low, high = np.quantile(whole, [0.025, 0.975])
        held += low <= np.maximum(true - calls * true.sum() / calls.sum(), 0).sum() <= high
    return held / REPLICATES


@pytest.mark.study
def test_holds_the_truth_as_often_as_it_says() -> None:
    assert BAND[0] <= coverage() <= BAND[1]


@pytest.mark.study
def test_ignoring_that_calls_of_a_unit_hang_together_is_caught() -> None:
    assert coverage(clustered=False) < BAND[0]


@pytest.mark.study
def test_taking_groups_as_they_are_is_caught() -> None:
    assert coverage(pull=False) < BAND[0]
