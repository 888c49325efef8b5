"""Drawing groups of units against drawing single units, and against drawing rows, which is too sure."""

import numpy as np
import pytest

from analytics.statistics.cluster_bootstrap import cluster_means
from analytics.statistics.group_bootstrap import drawn_sums, limits

UNITS, GROUPS = 3000, 256


def units(seed: int = 1) -> tuple[np.ndarray, np.ndarray]:
    """Failures of units that differ, and the group of each."""
    rng = np.random.default_rng(seed)
    return rng.poisson(rng.gamma(0.5, 2.0, UNITS)).astype(float), rng.integers(GROUPS, size=UNITS)


def width(failures: np.ndarray, group: np.ndarray, groups: int) -> float:
    counts = np.zeros((groups, 2))
    np.add.at(counts, group, np.column_stack([failures, np.ones(UNITS)]))
    sums = drawn_sums(counts, replicates=2000)
    low, high = limits(sums[1:, :1] / sums[1:, 1:])
    return float(high[0] - low[0])


def test_groups_vary_as_units_do() -> None:
    failures, group = units()
    (single,) = cluster_means(failures[:, None], np.arange(UNITS), replicates=2000)
    assert width(failures, group, GROUPS) == pytest.approx(single.high - single.low, rel=0.15)


def test_failures_taken_for_independent_are_too_sure() -> None:
    """The broken twin: as many failures, each in a unit of its own, would vary far less."""
    failures, _ = units()
    (single,) = cluster_means(failures[:, None], np.arange(UNITS), replicates=2000)
    by_chance = 2 * 1.96 * np.sqrt(failures.mean() / UNITS)
    assert by_chance < 0.75 * (single.high - single.low)


def test_first_as_seen_and_empty_groups_left_out() -> None:
    counts = np.array([[[1.0, 2.0], [0.0, 0.0], [3.0, 4.0]]])
    sums = drawn_sums(counts, replicates=50)
    assert sums.shape == (51, 1, 2)
    assert sums[0].tolist() == [[4.0, 6.0]]
    assert set(sums[1:, 0, 0].tolist()) <= {2.0, 4.0, 6.0}


def test_draws_without_a_value_are_left_out_of_limits() -> None:
    low, high = limits(np.array([[np.nan], [1.0], [2.0]]))
    assert 1.0 <= low[0] < high[0] <= 2.0
