"""A slice of the study of filter curves: the first fleets, and an interval that is too sure is caught."""

import pytest

from tests.studies.filter_curves import CHANGE, DIFFER, coverage

FLEETS = 60
LEAST = 0.85
"""With 60 fleets, three standard errors below the lowest coverage that the study takes."""


@pytest.fixture(scope="module")
def differ() -> tuple[dict[str, float], dict[str, float]]:
    return coverage(DIFFER, range(1, FLEETS + 1))


def test_intervals_hold_where_units_differ(differ: tuple[dict[str, float], dict[str, float]]) -> None:
    assert min(differ[0].values()) >= LEAST


def test_an_interval_that_takes_failures_for_independent_is_caught(
    differ: tuple[dict[str, float], dict[str, float]],
) -> None:
    assert max(differ[1].values()) < LEAST + 0.05


def test_intervals_hold_where_filters_are_changed_because_of_the_trouble() -> None:
    held, _ = coverage(CHANGE, range(1, FLEETS // 2 + 1))
    assert min(held.values()) >= 0.8
