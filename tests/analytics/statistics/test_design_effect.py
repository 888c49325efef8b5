"""The design effect of units, against hand-worked clusters and a simulation."""

import numpy as np
import pytest

from analytics.statistics.design_effect import ClusterSums, design_effect


def sums(n: list[int], x: list[int]) -> ClusterSums:
    size, counted = np.array(n, dtype=float), np.array(x, dtype=float)
    return ClusterSums(
        len(n), size.sum(), counted.sum(), (size**2).sum(), (size * counted).sum(), (counted**2).sum()
    )


def test_single_calls_have_an_effect_of_one() -> None:
    assert design_effect(sums([1] * 1000, [1] * 100 + [0] * 900)) == pytest.approx(1.0, abs=0.002)


def test_pairs_that_always_agree_count_half() -> None:
    assert design_effect(sums([2] * 1000, [2] * 100 + [0] * 900)) == pytest.approx(2.0, abs=0.005)


def test_by_hand() -> None:
    """31 units: one with 2 calls, both counted; ten with 1, counted; twenty with 1, not. p = 12 / 32."""
    p = 12 / 32
    squares = (2 - 2 * p) ** 2 + 10 * (1 - p) ** 2 + 20 * p**2
    expected = (31 / 30) * squares / 32**2 / (p * (1 - p) / 32)
    assert design_effect(sums([2] + [1] * 30, [2] + [1] * 10 + [0] * 20)) == pytest.approx(expected)


@pytest.mark.parametrize(
    ("n", "x"), [([1] * 29, [1] + [0] * 28), ([1] * 50, [0] * 50), ([1] * 50, [1] * 50), ([], [])]
)
def test_says_nothing_where_there_is_nothing_to_say(n: list[int], x: list[int]) -> None:
    assert design_effect(sums(n, x)) is None


def test_is_the_ratio_of_the_true_variances() -> None:
    """Units differ in their rate: variance of the rate over 4,000 fleets, over that of independent calls."""
    rng = np.random.default_rng(0)
    units, calls, rates, effects = 200, 5, [], []
    for _ in range(4000):
        own = rng.beta(1, 4, size=units)
        x = rng.binomial(calls, own)
        rates.append(x.sum() / (units * calls))
        effects.append(design_effect(sums([calls] * units, x.tolist())))
    independent = 0.2 * 0.8 / (units * calls)
    assert np.mean(effects) == pytest.approx(np.var(rates) / independent, rel=0.06)
    assert np.mean(effects) == pytest.approx(
        1 + (calls - 1) / (1 + 1 + 4), rel=0.03
    )  # intraclass correlation 1 / 6
