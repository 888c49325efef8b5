"""A slice of the study of coverage, and that it catches a wrong interval; the whole is run by hand."""

import pytest

from tests.studies import whole_fleets
from tests.studies.intervals import INTERVALS, coverage, holds

FLEETS = range(5)
LEAST = 4
"""Of these fleets' intervals so many hold the truth."""
SEEDS = range(500)


@pytest.mark.parametrize("interval", INTERVALS, ids=lambda interval: interval.name)
def test_interval_holds_the_truth_as_often_as_it_says(interval):
    assert holds(interval, coverage(interval, SEEDS))


@pytest.mark.parametrize("share", [0.5, 0.85, 1.2])
@pytest.mark.parametrize("interval", INTERVALS, ids=lambda interval: interval.name)
def test_interval_of_the_wrong_width_is_caught(interval, share):
    assert not holds(interval, coverage(interval, SEEDS, share))


@pytest.fixture(scope="module")
def fleets():
    return whole_fleets.intervals(FLEETS, processes=1)


def test_intervals_of_whole_fleets_hold_the_rate_of_all(fleets):
    rate = whole_fleets.truth(fleets)
    assert whole_fleets.coverage(fleets, rate) * len(FLEETS) >= LEAST


def test_interval_a_tenth_as_wide_is_caught_on_whole_fleets(fleets):
    assert whole_fleets.coverage(fleets, whole_fleets.truth(fleets), 0.1) * len(FLEETS) < LEAST
