"""A slice of the study of technicians' levels, and that it catches limits that are wrong."""

import pytest

from tests.studies.skill import POPULATIONS, coverage, holds

SEEDS = range(300)


@pytest.fixture(scope="module", params=POPULATIONS[:1], ids=lambda one: one.name)
def found(request):
    return coverage(request.param, SEEDS)


def test_limits_hold_the_level_as_often_as_they_say(found):
    assert holds(found["limits"])


def test_limits_half_as_wide_are_caught(found):
    assert not holds(found["halved"])


def test_taking_the_spread_as_known_is_caught(found):
    assert not holds(found["known"])
