"""The Wilson interval against published tables, its edges, and its coverage."""

import numpy as np
import pytest
from scipy.stats import binom

from analytics.statistics.intervals import wilson

# Newcombe RG (1998), Statistics in Medicine 17:857-872, Table I, method 3; read in a public test file.
PUBLISHED = [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611)]


@pytest.mark.parametrize(("x", "n", "low", "high"), PUBLISHED)
def test_published_values(x: int, n: int, low: float, high: float) -> None:
    lows, highs = wilson([x], [n])
    assert (round(float(lows[0]), 4), round(float(highs[0]), 4)) == (low, high)


@pytest.mark.parametrize("n", [1, 2, 7, 20, 263, 1_000_000])
def test_edges_are_exact(n: int) -> None:
    lows, highs = wilson([0, n], [n, n])
    assert lows[0] == 0.0
    assert highs[1] == 1.0
    assert 0 < highs[0] < 1 or n == 1
    assert 0 <= lows[1] < 1


def test_no_calls_no_interval() -> None:
    lows, highs = wilson([0, 1], [0, 2])
    assert np.isnan(lows[0])
    assert np.isnan(highs[0])
    assert not np.isnan(lows[1])


def test_empty() -> None:
    lows, highs = wilson([], [])
    assert lows.shape == highs.shape == (0,)


def coverage(intervals, n: int, p: float) -> float:
    """Return the exact probability that the interval holds p."""
    x = np.arange(n + 1)
    lows, highs = intervals(x, np.full(n + 1, n))
    return float(binom.pmf(x, n, p)[(lows <= p) & (p <= highs)].sum())


def mean_coverage(intervals) -> float:
    """Average over rates such as callbacks have; single rates swing about it, as counts are whole."""
    return float(
        np.mean([coverage(intervals, n, p) for n in (60, 150, 400) for p in np.linspace(0.03, 0.3, 28)])
    )


def test_coverage() -> None:
    assert 0.935 <= mean_coverage(wilson) <= 0.965


def test_coverage_of_a_wrong_interval_is_caught() -> None:
    def too_narrow(x, n):
        lows, highs = wilson(x, n, confidence=0.9)
        return lows, highs

    assert not 0.935 <= mean_coverage(too_narrow) <= 0.965
