"""The difference of differences, by hand."""

import numpy as np
import pytest

from analytics.questions.lesson_effect import LEAST_CALLS, LEAST_TECHNICIANS, effect

ATTENDED = np.arange(12) < 5


def judged(after: list[int], before: int = 8, calls: int = 20):
    return effect([before] * 12, [calls] * 12, after, [calls] * 12, ATTENDED)


def test_a_plain_improvement_of_those_who_attended() -> None:
    """40% before everywhere; after, 10% on average of those who attended, 40% on average of the others."""
    found = judged([1, 2, 3, 2, 2, 8, 9, 7, 8, 8, 7, 9])
    assert found.change == pytest.approx(10 / 100 - 8 / 20)
    assert found.verdict == "better"
    assert found.low < found.change < found.high < 0
    assert (found.attended_after.numerator, found.attended_after.denominator) == (10, 100)
    assert (found.others_before.numerator, found.others_before.denominator) == (56, 140)
    assert (found.attended, found.others) == (5, 7)


def test_what_improves_for_everybody_is_not_the_lesson() -> None:
    found = judged([1, 2, 3, 2, 2, 2, 1, 3, 2, 2, 1, 3])
    assert found.verdict == "not_sure"
    assert found.low < 0 < found.high


def test_a_change_for_the_worse_is_said() -> None:
    assert judged([16, 17, 18, 17, 17, 8, 9, 7, 8, 8, 7, 9]).verdict == "worse"


def test_more_calls_count_for_more() -> None:
    """Weights are 1 / (1 / before + 1 / after): 10 with 20 and 20, 2 with 4 and 4."""
    calls = np.array([20, 20, 4, 4, *[20] * 8])
    found = effect(np.zeros(12), calls, [10, 10, 0, 0, *[0] * 8], calls, np.arange(12) < 4)
    assert found.change == pytest.approx((10 * 0.5 + 10 * 0.5) / (10 + 10 + 2 + 2))


def test_technicians_without_calls_on_both_sides_are_left_out() -> None:
    calls = np.array([0, *[20] * 11])
    found = effect(np.zeros(12), calls, np.zeros(12), [20] * 12, ATTENDED)
    assert (found.attended, found.attended_after.denominator) == (4, 80)


@pytest.mark.parametrize(
    ("attended", "calls"), [(LEAST_TECHNICIANS - 1, 20), (LEAST_TECHNICIANS, (LEAST_CALLS - 1) // 4)]
)
def test_too_few_are_said(attended: int, calls: int) -> None:
    of = [calls] * 12
    found = effect(np.zeros(12), of, np.zeros(12), of, np.arange(12) < attended)
    assert (found.verdict, found.change, found.low) == ("too_few", None, None)
    assert effect([], [], [], [], []).verdict == "too_few"
