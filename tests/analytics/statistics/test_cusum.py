"""Sums that watch one call after another: a published example, plain loops, false alarms, broken twins."""

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.statistics.cusum import climb, control_limit, excursions, scores

# NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.3: 20 means, target 325, k = 0.3175, h = 4.1959,
# first signal at the 14th; data and parameters from memory, sums recomputed apart from this code.
MEANS = [324.925, 324.675, 324.725, 324.35, 325.35, 325.225, 324.125, 324.525, 325.225, 324.6, 324.625]
MEANS += [325.15, 328.325, 327.25, 327.825, 328.5, 326.675, 327.775, 326.875, 328.35]
HIGH = [0, 0, 0, 0, 0.0325, 0, 0, 0, 0, 0, 0, 0, 3.0075, 4.94, 7.4475, 10.63, 11.9875, 14.445, 16.0025]
HIGH += [19.035]
LOW = [0, 0.0075, 0, 0.3325, 0, 0, 0.5575, 0.715, 0.1725, 0.255, 0.3125, *[0] * 9]

Scores = Callable[..., np.ndarray]


def test_tabular_sums_of_the_handbook() -> None:
    away = np.array(MEANS) - 325
    high = climb(away - 0.3175)
    assert high == pytest.approx(HIGH, abs=1e-9)
    assert climb(-away - 0.3175) == pytest.approx(LOW, abs=1e-9)
    assert [crossed + 1 for _, crossed, _, _ in excursions(high, 4.1959)] == [14]


@given(st.lists(st.floats(-5, 5), max_size=60))
def test_climb_is_the_recursion(steps: list[float]) -> None:
    height, path = 0.0, []
    for step in steps:
        height = max(0.0, height + step)
        path.append(height)
    assert climb(steps).tolist() == pytest.approx(path, abs=1e-9)


@given(st.lists(st.integers(0, 6), min_size=1, max_size=60))
def test_excursions_are_those_of_a_loop(path: list[int]) -> None:
    limit, found, began, crossed = 3.5, [], 0, None
    for at, height in enumerate([*path, 0]):
        if height == 0:
            if crossed is not None:
                found.append((began, crossed, at, float(max(path[began:at]))))
            began, crossed = at + 1, None
        elif height > limit and crossed is None:
            crossed = at
    assert excursions(path, limit) == found


@pytest.mark.parametrize("odds_ratio", [2.0, 0.5])
@pytest.mark.parametrize("chance", [0.02, 0.1, 0.4])
def test_a_score_is_the_ratio_of_two_likelihoods(chance: float, odds_ratio: float) -> None:
    odds = odds_ratio * chance / (1 - chance)
    changed = odds / (1 + odds)
    back, stayed = scores([True, False], [chance, chance], odds_ratio)
    assert back == pytest.approx(np.log(changed / chance))
    assert stayed == pytest.approx(np.log((1 - changed) / (1 - chance)))
    # without a change the mean likelihood ratio is 1
    assert chance * np.exp(back) + (1 - chance) * np.exp(stayed) == pytest.approx(1)


def hard_and_easy_work(calls: int, series: int, times: float, seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Return what came back, and what was expected, of calls of which a quarter are hard."""
    generator = np.random.default_rng(seed)
    expected = np.where(generator.random((series, calls)) < 0.25, 0.25, 0.05)
    odds = times * expected / (1 - expected)
    return generator.random(expected.shape) < odds / (1 + odds), expected


def alarms(calls: int, series: int, odds_ratio: float, times: float = 1.0, how: Scores = scores) -> float:
    came_back, expected = hard_and_easy_work(calls, series, times, seed=11)
    limit = control_limit(np.repeat([0.25, 0.05], [1, 3]), calls, odds_ratio, 0.05)
    return float((climb(how(came_back, expected, odds_ratio)).max(axis=1) > limit).mean())


@pytest.mark.parametrize("odds_ratio", [2.0, 0.5])
@pytest.mark.parametrize(("calls", "series"), [(60, 4000), (300, 2000), (1200, 1000), (8000, 400)])
def test_false_alarms_are_as_frequent_as_stated(calls: int, series: int, odds_ratio: float) -> None:
    """Stated: 5% of series; with so many series drawn apart from those of the limit, 2 to 8%."""
    assert 0.02 <= alarms(calls, series, odds_ratio) <= 0.08


@pytest.mark.parametrize(("odds_ratio", "times"), [(2.0, 2.0), (0.5, 0.5)])
def test_doubled_and_halved_odds_are_found(odds_ratio: float, times: float) -> None:
    assert alarms(1200, 400, odds_ratio, times) > 0.9


def test_sums_that_ignore_what_was_expected_are_caught() -> None:
    def as_if_alike(came_back: np.ndarray, expected: np.ndarray, odds_ratio: float) -> np.ndarray:
        return scores(came_back, np.full(expected.shape, 0.05), odds_ratio)

    assert alarms(1200, 400, 2.0, how=as_if_alike) > 0.5


def test_sums_with_the_wrong_sign_are_caught() -> None:
    def turned(came_back: np.ndarray, expected: np.ndarray, odds_ratio: float) -> np.ndarray:
        return -scores(came_back, expected, odds_ratio)

    assert alarms(300, 400, 2.0, how=turned) > 0.9
