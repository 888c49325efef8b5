"""The spread between groups: against integrals done one by one, and what must hold of it."""

import numpy as np
import pytest
from scipy import integrate, stats
from scipy.special import expit

from analytics.statistics.skill_spread import STEP, Counts, Likelihood, best_quarter


def drawn(groups: int, calls: int, spread: float, seed: int = 1) -> tuple[Counts, np.ndarray]:
    """Return counts of groups alike in size, and their levels."""
    rng = np.random.default_rng(seed)
    group = np.repeat(np.arange(groups), calls)
    expected = (
        np.round(rng.normal(-1.5, 0.5, len(group)) * 10) / 10
    )  # on the bins, so that nothing is rounded
    levels = rng.normal(0, spread, groups)
    happened = rng.random(len(group)) < expit(expected + levels[group])
    return Counts.of(group, expected, happened, groups), levels


def by_quadrature(counts: Counts, centre: float, spread: float) -> float:
    """Return the log likelihood of a spread, each group's integral done by SciPy; 0 for none."""
    table = counts.calls.toarray()

    def log(level: float, at: int) -> float:
        scores = counts.offsets + level
        return float(counts.happened[at] * level - table[at] @ np.logaddexp(0, scores))

    pooled = Likelihood(counts).pooled
    total = 0.0
    for at in range(len(table)):
        none = log(pooled, at)

        def integrand(level: float, at: int = at, none: float = none) -> float:
            return float(np.exp(log(level, at) - none) * stats.norm.pdf(level, centre, spread))

        total += np.log(integrate.quad(integrand, centre - 8 * spread, centre + 8 * spread, limit=200)[0])
    return total


@pytest.mark.parametrize("spread", [0.04, 0.1, 0.5, 1.5])
def test_likelihood_is_that_of_integrals_done_one_by_one(spread: float) -> None:
    counts, _ = drawn(8, 60, 0.6)
    found = Likelihood(counts).profile(np.array([spread]))
    assert found.values[0] == pytest.approx(by_quadrature(counts, found.centres[0], spread), abs=1e-6)
    # and no other centre has more
    for centre in (found.centres[0] - 0.05, found.centres[0] + 0.05):
        assert by_quadrature(counts, centre, spread) < found.values[0] + 1e-6


def test_calls_far_apart_are_told_from_calls_alike() -> None:
    alike = Likelihood(drawn(60, 300, 0.0)[0]).spread()
    assert alike.low == 0
    assert alike.p > 0.05
    apart = Likelihood(drawn(60, 300, 0.6)[0]).spread()
    assert apart.low < 0.6 < apart.high
    assert apart.low > 0.4
    assert apart.p < 1e-6


def chances(groups: int, fleets: int) -> np.ndarray:
    """Return the chances of no spread in fleets where there is none."""
    return np.array([Likelihood(drawn(groups, 60, 0.0, seed)[0]).spread().p for seed in range(fleets)])


def test_test_of_no_spread_is_right_as_often_as_it_says() -> None:
    found = chances(100, 200)
    assert 0.02 <= np.mean(found < 0.05) <= 0.08
    # an eighth of the tail of chi-square instead of half of it claims too often
    assert not 0.02 <= np.mean(found / 4 < 0.05) <= 0.08


def test_test_of_no_spread_is_careful_with_twenty_technicians() -> None:
    assert np.mean(chances(20, 200) < 0.05) <= 0.05


def test_a_shift_of_what_was_expected_shifts_the_centre_alone() -> None:
    counts, _ = drawn(20, 50, 0.5)
    shifted = Counts(counts.offsets - 0.7, counts.calls, counts.happened)
    one, other = Likelihood(counts).spread(), Likelihood(shifted).spread()
    assert other.estimate == pytest.approx(one.estimate, abs=1e-6)
    assert other.centres[1] == pytest.approx(one.centres[1] + 0.7, abs=1e-6)


@pytest.mark.parametrize("happened", [np.zeros(40), np.ones(40)])
def test_nothing_is_said_where_all_went_one_way(happened: np.ndarray) -> None:
    counts = Counts.of(np.repeat(np.arange(4), 10), np.zeros(40), happened, 4)
    with pytest.raises(ValueError, match="nothing can be said"):
        Likelihood(counts)


def test_groups_are_pulled_towards_average_as_far_as_calls_are_few() -> None:
    # three of six and thirty of sixty: the same share, but the second is better known
    group = np.concatenate([np.repeat([0], 6), np.repeat([1], 60), np.repeat(np.arange(2, 22), 50)])
    happened = np.concatenate([np.arange(6) < 3, np.arange(60) < 30, np.tile(np.arange(50) < 8, 20)])
    likelihood = Likelihood(Counts.of(group, np.zeros(len(group)), happened, 22))
    posterior = likelihood.posterior()
    few, many, *_ = posterior @ likelihood.levels
    low, high = likelihood.limits(posterior)
    assert likelihood.spread().centres[1] < few < many < 0  # 0 is the logit of one half
    assert high[0] - low[0] > high[1] - low[1]
    assert posterior.sum(axis=1) == pytest.approx(np.ones(22))


def test_limits_know_that_the_spread_is_not_known() -> None:
    likelihood = Likelihood(drawn(12, 40, 0.5)[0])
    low, high = likelihood.limits(likelihood.posterior())
    spread = max(likelihood.spread().estimate, STEP)
    known = likelihood.limits(likelihood.posterior(likelihood.profile(np.array([spread]))))
    assert (high - low).mean() > (known[1] - known[0]).mean()


def test_best_quarter_by_hand() -> None:
    counts = Counts.of(np.array([0, 1]), np.zeros(2), np.array([0, 1]), 2)
    assert best_quarter(counts, 0.0, 0.0) == pytest.approx((0.5, 0.5))
    # rare: the mean of the lowest quarter of a log-normal is exp(s^2/2) Phi(z - s) / 0.25, z = -0.6745
    usual, best = best_quarter(counts, -8.0, 0.5)
    whole = np.exp(-8 + 0.125)
    assert usual == pytest.approx(whole, rel=0.01)
    assert best / usual == pytest.approx(stats.norm.cdf(-0.67449 - 0.5) / 0.25, rel=0.01)


def test_best_quarter_of_the_fit_does_not_take_luck_for_skill() -> None:
    """Where nobody differs, those who happened to do best still look better; the fitted quarter does not."""
    lucky, fitted = [], []
    for seed in range(40):
        counts, _ = drawn(20, 60, 0.0, seed)
        rates = counts.happened / counts.of_groups
        lucky.append(rates.mean() - np.sort(rates)[:5].mean())
        spread = Likelihood(counts).spread()
        usual, best = best_quarter(counts, spread.centres[1], spread.estimate)
        fitted.append(usual - best)
    # a twelfth of all cases would be "saved" by copying the lucky, for nothing
    assert np.median(lucky) > 0.04
    assert np.median(fitted) < 0.01
    assert np.mean(fitted) < np.mean(lucky) / 3
