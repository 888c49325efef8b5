"""Difference of two proportions, against a published table."""

import pytest

from analytics.statistics.difference import newcombe

# Newcombe RG (1998), Interval estimation for the difference between independent proportions: comparison of
# eleven methods, Statistics in Medicine 17:873-890, Table II, method 10, rows a, b, d and f.
PUBLISHED = [
    ((56, 70), (48, 80), 0.0524, 0.3339),
    ((9, 10), (3, 10), 0.1705, 0.8090),
    ((5, 56), (0, 29), -0.0381, 0.1926),
    ((0, 10), (0, 10), -0.2775, 0.2775),
]


@pytest.mark.parametrize(("first", "second", "low", "high"), PUBLISHED)
def test_table_of_newcombe(first: tuple[int, int], second: tuple[int, int], low: float, high: float) -> None:
    assert newcombe(first, second) == pytest.approx((low, high), abs=1e-4)


def test_turned_round_it_is_the_same_with_other_signs() -> None:
    low, high = newcombe((56, 70), (48, 80))
    assert newcombe((48, 80), (56, 70)) == pytest.approx((-high, -low))
