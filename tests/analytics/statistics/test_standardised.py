"""Ratios of observed to expected, their chance, and how far calls of a unit hang together."""

import numpy as np
import pytest
from scipy import stats

from analytics.statistics.funnel import binomial_limits, over_dispersion
from analytics.statistics.shrinkage import shrunk
from analytics.statistics.standardised import dispersion, more_than, two_sided_poisson


@pytest.mark.parametrize(("observed", "expected"), [(0, 2.0), (1, 1.0), (7, 3.2), (40, 22.5)])
def test_chance_of_so_many_is_the_tail_of_a_poisson_count(observed, expected):
    assert more_than([observed], [expected])[0] == pytest.approx(stats.poisson.sf(observed - 1, expected))


def test_chance_rises_with_dispersion():
    p = [more_than([20], [10.0], factor)[0] for factor in (1.0, 1.3, 2.0)]
    assert p == sorted(p)
    assert more_than([20], [10.0], 0.2)[0] == p[0], "counts never vary less than independent ones"


def test_two_sided_chance_is_twice_the_smaller_tail():
    assert two_sided_poisson([2], [9.0])[0] == pytest.approx(2 * stats.poisson.cdf(2, 9.0))
    assert two_sided_poisson([9], [9.0])[0] == 1.0


def clustered(seed, spread):
    rng = np.random.default_rng(seed)
    unit = np.repeat(np.arange(2000), 3)
    share = np.repeat(1 / (1 + np.exp(2 - rng.normal(0, spread, 2000))), 3)
    return unit, rng.random(6000) < share, np.full(6000, share.mean())


def test_dispersion_is_one_for_independent_calls_and_more_for_units_that_differ():
    unit, happened, expected = clustered(1, 0.0)
    assert dispersion(happened - expected, expected * (1 - expected), unit) == pytest.approx(1.0, abs=0.06)
    unit, happened, expected = clustered(1, 1.5)
    together = dispersion(happened - expected, expected * (1 - expected), unit)
    assert together > 1.2
    alone = dispersion(happened - expected, expected * (1 - expected), np.arange(6000))
    assert alone < 1.1, "with clustering left out it is missed"


def test_over_dispersion_leaves_out_what_extreme_groups_add():
    z = np.random.default_rng(2).normal(size=200)
    assert over_dispersion(z) < 1.1
    assert over_dispersion(np.append(z, [12.0, 15.0])) < 1.15
    assert over_dispersion(1.7 * z) == pytest.approx(
        1.7**2 * np.mean(np.clip(z, *np.quantile(z, [0.1, 0.9])) ** 2)
    )


def test_limits_widen_with_the_spread_about_the_target():
    narrow, wide = (binomial_limits([100], 0.1, 0.975, spread)[0] for spread in (1.0, 1.5))
    assert wide - 0.1 == pytest.approx(1.5 * (narrow - 0.1))


def test_share_of_groups_inside_the_limits():
    rng = np.random.default_rng(3)
    sizes = rng.integers(20, 400, 4000)
    rates = rng.binomial(sizes, 0.1) / sizes
    low, high = (binomial_limits(sizes, 0.1, p) for p in (0.025, 0.975))
    assert 0.93 < ((low <= rates) & (rates <= high)).mean() < 0.97


def test_pulled_estimates_lie_between_and_small_groups_move_more():
    rng = np.random.default_rng(4)
    sizes = np.array([30, 60, 120, 500] * 10)
    truth = rng.normal(1.0, 0.2, 40)
    variances = 0.6 / sizes * 10
    seen = rng.normal(truth, np.sqrt(variances))
    pulled, between = shrunk(seen, variances)
    mean = np.average(seen, weights=1 / (variances + between))
    assert (np.abs(pulled - mean) <= np.abs(seen - mean) + 1e-12).all()
    assert (np.sign(pulled - mean) == np.sign(seen - mean)).all()
    moved = np.abs(pulled - seen) / np.abs(seen - mean)
    assert moved[0] > moved[1] > moved[2] > moved[3]
    assert np.mean((pulled - truth) ** 2) < 0.8 * np.mean((seen - truth) ** 2)


def test_few_groups_are_left_as_they_are():
    assert shrunk([1.0, 2.0, 3.0], [1.0, 1.0, 1.0])[0].tolist() == [1.0, 2.0, 3.0]
