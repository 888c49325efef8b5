"""The interval of a ratio of totals: by hand, and how often it holds a truth that is known."""

from functools import cache
from math import exp, sqrt

import numpy as np
import pytest

from analytics.statistics.cluster_ratio import ratio_interval, ratio_intervals, relative_error
from analytics.statistics.design_effect import ClusterSums

REPLICATES = 600
BAND = (0.93, 0.97)
"""95% and three standard errors of the share of so many replicates."""


def sums_of(n: np.ndarray, x: np.ndarray) -> ClusterSums:
    return ClusterSums(len(n), n.sum(), x.sum(), n @ n, n @ x, x @ x)


def test_relative_error_by_hand() -> None:
    """Three units with 1, 2, 1 calls and costs 10, 0, 30: R = 10, residuals 0, -20, 20."""
    sums = sums_of(np.array([1.0, 2.0, 1.0]), np.array([10.0, 0.0, 30.0]))
    assert relative_error(sums) == pytest.approx(sqrt(3 / 2 * 800) / 40)


def test_single_calls_give_the_error_of_a_mean() -> None:
    """With one call a unit the ratio is a mean, and its error the textbook one, s / sqrt(n)."""
    x = np.random.default_rng(3).gamma(2.0, 50.0, size=80)
    assert relative_error(sums_of(np.ones(80), x)) == pytest.approx(x.std(ddof=1) / sqrt(80) / x.mean())


def test_limits_lie_symmetric_for_the_logarithm() -> None:
    sums = sums_of(np.array([1.0, 2.0, 1.0, 3.0]), np.array([10.0, 5.0, 30.0, 20.0]))
    low, high = ratio_interval(sums, 4)
    assert sqrt(low * high) == pytest.approx(65 / 7)
    assert high / low == pytest.approx(exp(2 * 3.182446 * relative_error(sums)), rel=1e-5)  # t of 3, 97.5%


def drawn(seed: int, units: int) -> tuple[np.ndarray, np.ndarray]:
    """Cost of each call, and its unit: some units come back far more, and cost more each time.

    The chance of a unit to come back is beta(0.5, 5.75), 8% on average; a return costs a gamma of mean 150
    times something of the unit's own, of mean 1. True cost for a call: 12.
    """
    rng = np.random.default_rng(seed)
    unit = np.repeat(np.arange(units), 1 + rng.poisson(3.0, size=units))
    chance, dear = rng.beta(0.5, 5.75, size=units), rng.gamma(4.0, 0.25, size=units)
    back = rng.random(len(unit)) < chance[unit]
    return back * rng.gamma(2.0, 75.0, size=len(unit)) * dear[unit], unit


@cache
def coverage(units: int, clustered: bool = True) -> float:
    """Share of replicates whose interval holds 12; not clustered: each call as if of a unit of its own."""
    held = 0
    for seed in range(REPLICATES):
        cost, unit = drawn(seed, units)
        if clustered:
            calls, cost = np.bincount(unit).astype(float), np.bincount(unit, weights=cost)
        else:
            calls = np.ones(len(cost))
        low, high = ratio_interval(sums_of(calls, cost), int((cost > 0).sum()))
        held += low <= 12.0 <= high
    return held / REPLICATES


@pytest.mark.study
@pytest.mark.parametrize("units", [400, 1500])
def test_holds_the_truth_as_often_as_it_says(units: int) -> None:
    assert BAND[0] <= coverage(units) <= BAND[1]


@pytest.mark.study
@pytest.mark.parametrize("units", [400, 1500])
def test_ignoring_that_calls_of_a_unit_hang_together_is_caught(units: int) -> None:
    assert coverage(units, clustered=False) < BAND[0]


def test_many_ratios_at_once_are_the_same_as_one_by_one() -> None:
    rng = np.random.default_rng(8)
    fields, informative, alone = [], [], []
    for _ in range(20):
        n, x = rng.uniform(1, 20, 50), rng.poisson(0.4, 50)
        sums = ClusterSums(50, n.sum(), x.sum(), (n * n).sum(), (n * x).sum(), (x * x).sum())
        fields.append([*vars(sums).values()])
        informative.append(int((x > 0).sum()))
        alone.append(ratio_interval(sums, informative[-1]))
    low, high = ratio_intervals(np.array(fields), np.array(informative))
    assert np.column_stack([low, high]) == pytest.approx(np.array(alone))
