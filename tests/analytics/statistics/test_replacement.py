"""Rates that do not fall, against published values."""

import numpy as np
import pytest

from analytics.statistics.replacement import not_falling


def check(weighted: bool) -> None:
    """Failures by band of 20, 10, 10, 20, 15 and 10 units: expected values by scikit-learn 1.9."""
    counts, units = np.array([2.0, 3, 2, 8, 3, 6]), np.array([20.0, 10, 10, 20, 15, 10])
    weights = units if weighted else np.ones(6)
    expected = [0.1, 0.25, 0.25, 11 / 35, 11 / 35, 0.6]
    assert not_falling((counts / units)[None], weights[None])[0] == pytest.approx(expected)


def test_the_example_of_r() -> None:
    """R, help page of isoreg (from memory)."""
    rates = np.array([[1.0, 0, 4, 3, 3, 5, 4, 2, 0]])
    assert not_falling(rates, np.ones((1, 9)))[0].tolist() == [0.5, 0.5, *[3.0] * 7]


def test_weighted_by_the_time_at_risk() -> None:
    check(weighted=True)


def test_weights_left_out_are_caught() -> None:
    with pytest.raises(AssertionError):
        check(weighted=False)


def test_draws_do_not_touch_each_other() -> None:
    rates = np.array([[3.0, 1.0], [1.0, 3.0]])
    assert not_falling(rates, np.ones((2, 2))).tolist() == [[2.0, 2.0], [1.0, 3.0]]
