"""The spread between groups against published figures, SciPy and statsmodels."""

import warnings

import numpy as np
import pytest
import statsmodels.datasets
from scipy import optimize, stats
from scipy.special import expit
from statsmodels.genmod.bayes_mixed_glm import BinomialBayesMixedGLM

from analytics.statistics.skill_spread import Counts, Likelihood, best_quarter

# Crowder MJ (1978), Applied Statistics 27:34-37, table 3: seeds that germinated, of so many, on 21 plates
# (from memory)
GERMINATED = [10, 23, 23, 26, 17, 5, 53, 55, 32, 46, 10, 8, 10, 8, 23, 0, 3, 22, 15, 32, 3]
SEEDS = [39, 62, 81, 51, 39, 6, 74, 72, 51, 79, 13, 16, 30, 28, 45, 4, 12, 41, 30, 51, 7]
KIND = np.array([0] * 11 + [1] * 10)
EXTRACT = np.array([0] * 5 + [1] * 6 + [0] * 5 + [1] * 5)
# Breslow NE, Clayton DG (1993), Journal of the American Statistical Association 88:9-25, table 3, maximum
# likelihood (from memory): fixed effects, and the standard deviation between plates
PUBLISHED_EFFECTS = (-0.548, 0.097, 1.337, -0.811)
PUBLISHED_SPREAD = 0.236


def counted(happened: list[int] | np.ndarray, of: list[int] | np.ndarray, expected: np.ndarray) -> Counts:
    group = np.repeat(np.arange(len(of)), of)
    each = np.concatenate([np.arange(n) < k for k, n in zip(happened, of, strict=True)])
    return Counts.of(group, expected[group], each, len(of))


def plates() -> Counts:
    one, kind, extract, both = PUBLISHED_EFFECTS
    return counted(GERMINATED, SEEDS, one + kind * KIND + extract * EXTRACT + both * KIND * EXTRACT)


def test_spread_of_seeds_is_as_published() -> None:
    """With the published effects as what was expected, the spread is the published one, and the centre 0."""
    found = Likelihood(plates()).spread()
    assert found.estimate == pytest.approx(PUBLISHED_SPREAD, abs=0.002)
    assert found.centres[1] == pytest.approx(0, abs=0.005)


def test_spread_without_what_was_expected_is_another() -> None:
    found = Likelihood(counted(GERMINATED, SEEDS, np.zeros(21))).spread()
    assert abs(found.estimate - PUBLISHED_SPREAD) > 0.2


def by_statsmodels() -> tuple[float, np.ndarray]:
    """Spread and levels of the plates by statsmodels, variational Bayes."""
    group = np.repeat(np.arange(21), SEEDS)
    each = np.concatenate([np.arange(n) < k for k, n in zip(GERMINATED, SEEDS, strict=True)])
    design = np.column_stack([np.ones(21), KIND, EXTRACT, KIND * EXTRACT])[group]
    model = BinomialBayesMixedGLM(
        each.astype(float), design, np.eye(21)[group], np.zeros(21, int), vcp_p=2, fe_p=5
    )
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        found = model.fit_vb()
    return float(np.exp(found.vcp_mean[0])), np.asarray(found.vc_mean)


def test_levels_of_seeds_are_those_of_statsmodels() -> None:
    spread, theirs = by_statsmodels()
    likelihood = Likelihood(plates())
    ours = likelihood.posterior() @ likelihood.levels
    assert likelihood.spread().estimate == pytest.approx(spread, abs=0.05)
    assert ours == pytest.approx(theirs, abs=0.06)
    # levels that are not pulled towards average are not theirs
    apart = np.log((np.array(GERMINATED) + 0.5) / (np.array(SEEDS) - GERMINATED + 0.5))
    one, kind, extract, both = PUBLISHED_EFFECTS
    raw = apart - (one + kind * KIND + extract * EXTRACT + both * KIND * EXTRACT)
    assert np.abs(raw - theirs).max() > 0.3


def districts() -> tuple[np.ndarray, np.ndarray]:
    """Pupils above the national median, and all, in 303 districts (statsmodels.datasets.star98)."""
    data = statsmodels.datasets.star98.load_pandas().data
    above = data["NABOVE"].to_numpy().astype(int)
    return above, above + data["NBELOW"].to_numpy().astype(int)


def beta_binomial(happened: np.ndarray, of: np.ndarray) -> tuple[float, float]:
    """Mean and correlation by maximum likelihood with SciPy's beta-binomial distribution."""

    def minus(at: np.ndarray) -> float:
        mean, rho = expit(at)
        size = (1 - rho) / rho
        return -float(stats.betabinom.logpmf(happened, of, mean * size, (1 - mean) * size).sum())

    mean, rho = expit(optimize.minimize(minus, [0.0, -3.0], method="Nelder-Mead").x)
    return float(mean), float(rho)


def test_districts_against_the_beta_binomial_of_scipy() -> None:
    above, of = districts()
    mean, rho = beta_binomial(above, of)
    counts = counted(above, of, np.zeros(len(of)))
    found = Likelihood(counts).spread()
    shares = expit(found.centres[1] + found.estimate * stats.norm.ppf((np.arange(2000) + 0.5) / 2000))
    assert shares.mean() == pytest.approx(mean, abs=0.005)
    assert shares.std() == pytest.approx(np.sqrt(mean * (1 - mean) * rho), rel=0.02)
    # the best quarter of the two fitted distributions is the same
    size = (1 - rho) / rho
    quarter = stats.beta(mean * size, (1 - mean) * size).ppf((np.arange(500) + 0.5) / 2000).mean()
    best = best_quarter(counts, found.centres[1], found.estimate)[1]
    assert best == pytest.approx(quarter, abs=0.003)
    # half the spread is not
    assert best_quarter(counts, found.centres[1], found.estimate / 2)[1] > quarter + 0.05
