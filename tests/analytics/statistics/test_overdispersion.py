"""Units that differ by nature: how much is found again, and few of them are called beyond chance."""

import numpy as np
import pytest
from scipy import integrate, stats

from analytics.statistics.many import false_discovery
from analytics.statistics.overdispersion import gamma_dispersion, upper_tail


def test_tail_against_the_integral_over_the_hidden_factor() -> None:
    """The chance of x or more is that of a Poisson count, averaged over a gamma factor (SciPy's integral)."""
    for x, mean, v in ((1, 0.3, 0.5), (4, 1.2, 0.4), (9, 2.5, 1.5)):
        factor = stats.gamma(1 / v, scale=v)
        known, _ = integrate.quad(
            lambda g, x=x, mean=mean, factor=factor: stats.poisson.sf(x - 1, g * mean) * factor.pdf(g), 0, 60
        )
        assert upper_tail([x], [mean], v)[0] == pytest.approx(known, rel=1e-4)


def test_without_over_dispersion_it_is_the_poisson_tail() -> None:
    assert upper_tail([3], [1.0], 1e-9)[0] == pytest.approx(stats.poisson.sf(2, 1.0), rel=1e-4)
    assert upper_tail([0], [2.0], 0.7)[0] == 1.0


@pytest.mark.parametrize("variance", [0.0, 0.4, 1.0])
def test_the_variance_put_in_is_found(variance: float) -> None:
    """One estimate from 20,000 units varies by about 0.03 where the variance is 1; the mean of 20 less."""
    found = [gamma_dispersion(*fleet(variance, seed, units=20_000)) for seed in range(20)]
    assert np.mean(found) == pytest.approx(variance, abs=0.02)


def fleet(variance: float, seed: int, units: int = 2000) -> tuple[np.ndarray, np.ndarray]:
    """Units watched for different times, that differ only by a gamma factor."""
    rng = np.random.default_rng(seed)
    expected = rng.uniform(0.3, 6, units)
    factor = rng.gamma(1 / variance, variance, units) if variance else 1.0
    return rng.poisson(expected * factor), expected


def flagged(counts: np.ndarray, expected: np.ndarray, allow: bool = True) -> np.ndarray:
    spread = gamma_dispersion(counts, expected) if allow else 0.0
    return false_discovery(upper_tail(counts, expected, spread)) <= 0.05


def fleets_with_any(allow: bool) -> int:
    return sum(flagged(*fleet(0.6, seed), allow=allow).any() for seed in range(60))


def check_few_fleets_are_flagged(allow: bool = True) -> None:
    """Where no unit is set apart, 5% of fleets at most should have one flagged: of 60 no more than 7.

    That 8 or more of 60 are flagged at 5% each has a chance of 1% (binomial).
    """
    assert stats.binom.sf(7, 60, 0.05) < 0.02
    assert fleets_with_any(allow) <= 7


def test_units_that_differ_only_by_nature_are_not_flagged() -> None:
    check_few_fleets_are_flagged()


def test_ignoring_over_dispersion_is_caught() -> None:
    with pytest.raises(AssertionError):
        check_few_fleets_are_flagged(allow=False)


def test_units_that_stand_out_are_found() -> None:
    counts, expected = fleet(0.3, seed=3)
    counts[:10] = 12 * np.ceil(expected[:10]).astype(int) + 10
    found = flagged(counts, expected)
    assert found[:10].all()
    assert found[10:].sum() <= 2
