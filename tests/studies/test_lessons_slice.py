"""A slice of the study of lessons, and ways to judge them that are wrong and are caught."""

from dataclasses import replace

import pytest

from tests.studies.lessons import (
    HALVED,
    LEAST_FALSE_OF_TWINS,
    MOST_BIAS,
    MOST_FALSE,
    NULL,
    against_chosen_months,
    as_shown,
    attended_alone,
    lesson,
    tally,
)

SEEDS = range(150)


def test_an_effect_is_seldom_claimed_where_there_is_none():
    """A slice has no power against 5%: of 150 fleets at that rate, more than 10% claim one once in 200."""
    assert tally(NULL, SEEDS).claimed <= 2 * MOST_FALSE


@pytest.mark.parametrize("judge", [against_chosen_months, attended_alone])
def test_months_of_choosing_as_the_time_before_are_caught(judge):
    assert tally(NULL, SEEDS, judge).claimed >= LEAST_FALSE_OF_TWINS


def test_a_known_effect_is_recovered():
    found = tally(replace(HALVED, calls_a_month=(6.0, 6.0), rate=(0.3, 0.3)), SEEDS)
    assert abs(found.bias) <= 2 * MOST_BIAS
    assert found.covered >= 0.90
    assert found.better >= 0.8 * found.fleets


def test_those_who_did_worst_attend():
    found = lesson(NULL, 3)
    rates = found.wrong[1] / found.calls[1].clip(1)
    assert 4 <= found.attended.sum() <= 8
    assert rates[found.attended].min() >= rates[~found.attended].max()


def test_the_effect_planted_is_the_truth_and_none_is_none():
    assert lesson(NULL, 5).truth == 0
    assert lesson(HALVED, 5).truth < -0.02
    assert as_shown(lesson(NULL, 5)).attended == lesson(NULL, 5).attended.sum()
