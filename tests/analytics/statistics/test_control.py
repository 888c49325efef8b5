"""Limits of the p-chart against a published example."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.statistics.control import RUN, one_sided_runs, p_chart

# Montgomery DC, Introduction to Statistical Quality Control, 2nd edition 1991, pp. 152-155, juice cans;
# the counts as in the R package qcc, limits and means remembered and recomputed.
JUICE = [12, 15, 8, 10, 4, 7, 16, 9, 14, 10, 5, 6, 17, 12, 22]
JUICE += [8, 10, 5, 13, 11, 20, 18, 24, 15, 9, 12, 7, 13, 9, 6]

# Montgomery, purchase orders, 25 samples of varying size: from memory; the sums come out right.
ORDERS = [12, 8, 6, 9, 10, 12, 11, 16, 10, 6, 20, 15, 9, 8, 6, 8, 10, 7, 5, 8, 5, 8, 10, 6, 9]
SIZES = [100, 80, 80, 100, 110, 110, 100, 100, 90, 90, 110, 120, 120, 120, 110, 80, 80, 80, 90]
SIZES += [100, 100, 100, 100, 90, 90]


def outside(counts: list[int], sizes: list[int]) -> list[int]:
    """Return the numbers of the samples beyond a limit, from 1."""
    _, low, high = p_chart(counts, sizes)
    rate = np.array(counts) / np.array(sizes)
    return [int(i) + 1 for i in np.flatnonzero((rate < low) | (rate > high))]


def test_constant_size() -> None:
    mean, low, high = p_chart(JUICE, [50] * 30)
    assert round(mean, 4) == 0.2313
    assert (round(float(low[0]), 4), round(float(high[0]), 4)) == (0.0524, 0.4102)
    assert outside(JUICE, [50] * 30) == [15, 23]


def test_after_leaving_out_two_samples() -> None:
    left = [count for number, count in enumerate(JUICE, start=1) if number not in (15, 23)]
    mean, low, high = p_chart(left, [50] * 28)
    assert mean == pytest.approx(0.215)
    assert (round(float(low[0]), 4), round(float(high[0]), 4)) == (0.0407, 0.3893)
    assert outside(left, [50] * 28) == [20]  # sample 21 of the thirty


def test_varying_size_uses_the_pooled_mean() -> None:
    mean, low, high = p_chart(ORDERS, SIZES)
    assert mean == pytest.approx(234 / 2450)
    assert (float(low[10]), float(high[10])) == pytest.approx((0.011438154625052752, 0.17958225353821256))
    assert outside(ORDERS, SIZES) == [11]


def test_limits_are_cut_to_proportions() -> None:
    _, low, high = p_chart([1, 4], [5, 5])
    assert (low[0], high[0]) == (0.0, 1.0)


def test_periods_without_calls_have_no_limits() -> None:
    mean, low, high = p_chart([0, 3], [0, 10])
    assert mean == pytest.approx(0.3)
    assert np.isnan(low[0])
    assert np.isnan(high[0])


def test_no_calls_at_all() -> None:
    mean, low, _ = p_chart([0], [0])
    assert np.isnan(mean)
    assert np.isnan(low[0])


def by_loops(values: list[float], mean: float, length: int) -> list[bool]:
    """Each stretch of the wanted length, looked at one by one."""
    marked = [False] * len(values)
    for start in range(len(values) - length + 1):
        stretch = values[start : start + length]
        if all(value > mean for value in stretch) or all(value < mean for value in stretch):
            marked[start : start + length] = [True] * length
    return marked


@given(st.lists(st.sampled_from([0.0, 1.0, 2.0, float("nan")]), max_size=40), st.integers(2, 5))
def test_runs_are_those_of_plain_loops(values: list[float], length: int) -> None:
    assert one_sided_runs(values, 1.0, length).tolist() == by_loops(values, 1.0, length)


def test_eight_in_a_row_are_no_run_and_nine_are() -> None:
    assert not one_sided_runs([2.0] * (RUN - 1) + [0.0] * (RUN - 1), 1.0).any()
    assert one_sided_runs([0.0] + [2.0] * RUN, 1.0).tolist() == [False] + [True] * RUN


def test_a_given_nine_lie_on_one_side_once_in_256() -> None:
    signs = np.array([[n >> bit & 1 for bit in range(RUN)] for n in range(2**RUN)], dtype=float)
    assert sum(one_sided_runs(row, 0.5).all() for row in signs) == 2**RUN / 256
