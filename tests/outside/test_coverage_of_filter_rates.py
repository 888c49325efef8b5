"""How often the intervals hold the truth where filters are changed because of the trouble.

A small fleet is simulated 2,000 times, day by day: trouble begins at a rate that depends on the age of the
filter; half of the customers then change the filter first, a few days before they ring.
"""

import numpy as np
import pytest

from analytics.statistics.incidence import incidence, rate_ratio

REPEATS, UNITS, DAYS = 2000, 25, 500
TRUE_A_DAY = np.array([0.004, 0.010])
"""Failures a unit-day with a filter of up to six months, and past."""
PAST_DAYS, WAIT_DAYS = 183, 4


def simulated(seed: int = 17) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return unit-days, failures by age when the trouble began and by that at the call; (repeats, 2)."""
    rng = np.random.default_rng(seed)
    shape = (REPEATS, UNITS)
    age = rng.integers(1, 300, shape)
    rings_in, changes_in = np.full(shape, -1), np.full(shape, -1)
    days, began, called = (np.zeros((REPEATS, 2)) for _ in range(3))
    for _ in range(DAYS):
        old = age >= PAST_DAYS
        trouble = rng.random(shape) < np.where(old, TRUE_A_DAY[1], TRUE_A_DAY[0])
        rings = rings_in == 0
        for band, inside in enumerate((~old, old)):
            days[:, band] += inside.sum(axis=1)
            began[:, band] += (trouble & inside).sum(axis=1)
            called[:, band] += (rings & inside).sum(axis=1)
        first = trouble & (rings_in < 0)
        changes_first = first & (rng.random(shape) < 0.5)
        rings_in = np.where(first, WAIT_DAYS, rings_in - 1)
        changes_in = np.where(changes_first, WAIT_DAYS - 2, changes_in - 1)
        age = np.where((changes_in == 0) | (rng.random(shape) < 1 / 400), 1, age + 1)
    return days, began, called


@pytest.fixture(scope="module")
def fleets() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    return simulated()


def covered(counts: np.ndarray, days: np.ndarray) -> list[float]:
    """Share of fleets whose intervals hold the truth: of both rates, and of their ratio."""
    shares = []
    for band, truth in enumerate(TRUE_A_DAY):
        _, low, high = incidence(counts[:, band], days[:, band])
        shares.append(float(((low <= truth) & (truth <= high)).mean()))
    ratios = [
        rate_ratio((int(b), int(a)), (of_b, of_a)) for (a, b), (of_a, of_b) in zip(counts, days, strict=True)
    ]
    truth = TRUE_A_DAY[1] / TRUE_A_DAY[0]
    return [*shares, float(np.mean([each.low <= truth <= each.high for each in ratios]))]


def check(counts: np.ndarray, days: np.ndarray) -> None:
    assert min(covered(counts, days)) >= 0.94


def test_age_when_the_trouble_began_covers(fleets: tuple[np.ndarray, np.ndarray, np.ndarray]) -> None:
    days, began, _ = fleets
    check(began, days)


def test_age_at_the_call_does_not(fleets: tuple[np.ndarray, np.ndarray, np.ndarray]) -> None:
    """The broken twin: by the age at the call, old filters look better than they are."""
    days, _, called = fleets
    with pytest.raises(AssertionError):
        check(called, days)
    assert covered(called, days)[2] < 0.8
