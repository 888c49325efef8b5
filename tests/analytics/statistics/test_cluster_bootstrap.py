"""Means with intervals over whole clusters: against a plain loop, and as wide as clusters make them."""

from typing import Any

import numpy as np
import pytest

from analytics.statistics import cluster_bootstrap as module
from analytics.statistics.cluster_bootstrap import Mean, cluster_means


def made(units: int, each: int, together: float, seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Values about zero of units with so many rows each, `together` of their variance common to the unit."""
    random = np.random.default_rng(seed)
    common = np.repeat(random.normal(size=units), each) * np.sqrt(together)
    values = common + random.normal(size=units * each) * np.sqrt(1 - together)
    return values[:, None], np.repeat(np.arange(units), each)


def plainly(values: np.ndarray, clusters: np.ndarray, replicates: int, seed: int) -> tuple[float, float]:
    """Draw units one by one, put their rows together, and take the mean."""
    random = np.random.default_rng(seed)
    units = sorted(set(clusters.tolist()))
    means = []
    for _ in range(replicates):
        rows: list[float] = []
        for _ in units:
            drawn = units[random.integers(len(units))]
            rows += [value for value, unit in zip(values, clusters, strict=True) if unit == drawn]
        means.append(sum(rows) / len(rows))
    return float(np.percentile(means, 2.5)), float(np.percentile(means, 97.5))


def check_plain_loop(means: Any = cluster_means) -> None:
    random = np.random.default_rng(3)
    clusters = random.integers(0, 25, 120) * 7 + 2  # numbers that neither begin at 0 nor follow each other
    values = random.exponential(size=120) + clusters / 100
    (found,) = means(values[:, None], clusters, replicates=4000)
    low, high = plainly(values, clusters, 2000, seed=9)
    assert found.value == pytest.approx(values.mean())
    assert found.rows == 120
    assert (found.low, found.high) == pytest.approx((low, high), abs=0.035)


def test_against_a_plain_loop() -> None:
    check_plain_loop()


def test_rows_drawn_one_by_one_are_caught() -> None:
    def by_row(values: np.ndarray, clusters: np.ndarray, **more: int) -> list[Mean]:
        return cluster_means(values, np.arange(len(clusters)), **more)

    with pytest.raises(AssertionError):
        check_plain_loop(by_row)


def width(mean: Mean) -> float:
    return mean.high - mean.low


def test_clusters_widen_the_interval() -> None:
    """Ten rows a unit that are all alike tell as much as one: sqrt(10) times as wide."""
    values, units = made(200, 10, 1.0, seed=1)
    (together,), (alone,) = cluster_means(values, units), cluster_means(values, np.arange(2000))
    assert width(together) / width(alone) == pytest.approx(np.sqrt(10), rel=0.1)
    values, units = made(200, 10, 0.0, seed=1)
    (together,), (alone,) = cluster_means(values, units), cluster_means(values, np.arange(2000))
    assert width(together) / width(alone) == pytest.approx(1, rel=0.15)


def covered(together: float, clustered: bool, fleets: int = 200) -> float:
    hits = 0
    for seed in range(fleets):
        values, units = made(40, 5, together, seed)
        (found,) = cluster_means(values, units if clustered else np.arange(len(values)), replicates=200)
        hits += found.low <= 0 <= found.high
    return hits / fleets


def test_coverage() -> None:
    """Of 200 seeded fleets; 95% less some for few units and percentile limits, give or take 3 in 100."""
    assert 0.88 <= covered(0.5, clustered=True) <= 0.99
    assert covered(0.5, clustered=False) < 0.85, "rows taken one by one are too sure"


def test_columns_see_the_same_samples() -> None:
    """So that a difference of columns has the interval of the differences."""
    values, units = made(50, 2, 0.3, seed=2)
    both, again, shifted = cluster_means(np.column_stack([values, values, values + 5]), units)
    assert both == again
    assert (shifted.low, shifted.high) == pytest.approx((both.low + 5, both.high + 5))
    (nothing,) = cluster_means(values - values, units)
    assert (nothing.low, nothing.value, nothing.high) == (0, 0, 0)
    assert not nothing.above_zero


def test_the_same_seed_gives_the_same_and_portions_do_not_matter(monkeypatch: pytest.MonkeyPatch) -> None:
    values, units = made(50, 2, 0.3, seed=2)
    whole = cluster_means(values, units)
    assert cluster_means(values, units) == whole
    assert cluster_means(values, units, seed=5) != whole
    monkeypatch.setattr(module, "DRAWS_AT_ONCE", 60)
    (found,) = cluster_means(values, units)
    assert (found.low, found.high) == pytest.approx((whole[0].low, whole[0].high))


def test_numbers_of_units_may_be_hashes() -> None:
    values, units = made(20, 2, 0.3, seed=2)
    hashes = units.astype(np.uint64) * np.uint64(2**59) + np.uint64(1)
    (found,) = cluster_means(values, hashes)
    assert (found.low, found.high) == pytest.approx(
        (cluster_means(values, units)[0].low, cluster_means(values, units)[0].high)
    )


def test_one_unit_knows_no_more_than_its_mean() -> None:
    (found,) = cluster_means(np.array([[1.0], [2.0], [6.0]]), np.zeros(3, dtype=np.int64))
    assert (found.low, found.value, found.high) == (3, 3, 3)


def test_above_zero() -> None:
    assert Mean(1.0, 0.1, 2.0, 9).above_zero
    assert not Mean(1.0, 0.0, 2.0, 9).above_zero
    assert not Mean(1.0, -0.1, 2.0, 9).above_zero
