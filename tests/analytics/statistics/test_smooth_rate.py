"""The smooth rate against splines of SciPy, a constant, and a rate whose doubling is known."""

import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from analytics.statistics.smooth_rate import SmoothRate, doubled, natural_spline, smooth_rate

KNOTS = (15.0, 91.0, 183.0, 365.0, 700.0)
AGE = np.arange(18.5, 700, 7)


def test_basis_spans_natural_splines() -> None:
    rng = np.random.default_rng(1)
    wanted = CubicSpline(KNOTS, rng.normal(size=len(KNOTS)), bc_type="natural")(AGE)
    design = np.column_stack([np.ones(len(AGE)), natural_spline(AGE, KNOTS)])
    effects, *_ = np.linalg.lstsq(design, wanted, rcond=None)
    assert design @ effects == pytest.approx(wanted)
    far = natural_spline(np.array([800.0, 900, 1000]), KNOTS)
    assert far[1] - far[0] == pytest.approx(far[2] - far[1])  # straight beyond the outer knots


def cells(rate: np.ndarray, groups: int = 60, time: float = 400.0, seed: int = 1) -> tuple[np.ndarray, ...]:
    rng = np.random.default_rng(seed)
    counts = rng.poisson(np.tile(rate * time, groups))
    times = np.full(counts.shape, time)
    return counts.astype(float), times, np.tile(AGE, groups), np.repeat(np.arange(groups), len(AGE))


def test_a_constant_rate_comes_back() -> None:
    counts, time, age, group = cells(np.full(len(AGE), 0.05))
    found = smooth_rate(counts, time, age, group, KNOTS, AGE)
    assert found is not None
    assert found.rate == pytest.approx(np.full(len(AGE), 0.05), rel=0.04)
    assert (found.low < 0.05).all()
    assert (found.high > 0.05).mean() > 0.9


def check_doubling(young: np.ndarray) -> None:
    rate = 0.03 * (1 + AGE / 200)
    counts, time, age, group = cells(rate)
    found = smooth_rate(counts, time, age, group, KNOTS, AGE)
    assert found is not None
    twice = doubled(found, young)
    base = 0.03 * (1 + AGE[AGE < 92].mean() / 200)
    truth = 200 * (2 * base / 0.03 - 1)
    assert twice.low is not None
    assert twice.high is not None
    assert twice.low <= truth <= twice.high
    assert twice.age == pytest.approx(truth, abs=25)
    assert twice.young == pytest.approx(base, rel=0.05)


def test_the_age_of_the_doubled_rate() -> None:
    check_doubling(AGE < 92)


def test_doubling_against_the_wrong_ages_is_caught() -> None:
    with pytest.raises(AssertionError):
        check_doubling(AGE < 400)


def test_a_rate_that_does_not_double_says_so() -> None:
    flat = np.full((1, len(AGE)), 0.05)
    curve = SmoothRate(AGE, flat[0], flat[0], flat[0], np.repeat(flat, 10, axis=0))
    found = doubled(curve, AGE < 92)
    assert (found.age, found.low, found.high) == (None, None, None)


def test_intervals_allow_for_groups_that_vary() -> None:
    rng = np.random.default_rng(5)
    counts, time, age, group = cells(np.full(len(AGE), 0.05))
    differ = rng.gamma(2, 0.5, 60)[group]
    varied = rng.poisson(0.05 * differ * time).astype(float)
    plain = smooth_rate(counts, time, age, group, KNOTS, AGE)
    wide = smooth_rate(varied, time, age, group, KNOTS, AGE)
    assert plain is not None
    assert wide is not None
    width = [np.log(each.high / each.low).mean() for each in (plain, wide)]
    assert width[1] > 2 * width[0]
    shuffled = smooth_rate(varied, time, age, rng.permutation(group), KNOTS, AGE)
    assert shuffled is not None
    # the broken twin: groups that are none see nothing of it
    assert np.log(shuffled.high / shuffled.low).mean() < 0.7 * width[1]


def test_too_few_events_give_no_curve() -> None:
    counts, time, age, group = cells(np.full(len(AGE), 1e-6))
    assert smooth_rate(counts, time, age, group, KNOTS, AGE) is None
