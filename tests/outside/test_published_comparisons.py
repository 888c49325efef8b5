"""Comparisons published elsewhere, against what the program computes. The source stands beside each value.

Evidence: [published] read in the publication or a stored copy of it; [secondary] read in somebody's test file
or page that quotes it; [memory] remembered, and recomputed with R 4.2 or scipy 1.17.
"""

import numpy as np
import pytest

from analytics.statistics.funnel import binomial_limits
from analytics.statistics.many import false_discovery
from analytics.statistics.shrinkage import shrunk
from analytics.statistics.standardised import byar, exact_poisson
from analytics.statistics.stratified import mantel_haenszel

# Garwood F (1936), Biometrika 28:437-442; table values such as 0 to 3.689 for 0 [memory], scipy agrees.
GARWOOD = [
    (0, 0.0, 3.688879), (1, 0.025318, 5.571643), (2, 0.242209, 7.224688), (5, 1.623486, 11.668332),
    (10, 4.795389, 18.390356), (20, 12.21652, 30.888378), (50, 37.110964, 65.918767),
]  # fmt: skip


@pytest.mark.parametrize(("count", "low", "high"), GARWOOD)
def test_exact_poisson_interval(count, low, high):
    found = exact_poisson([count])
    assert (found[0][0], found[1][0]) == pytest.approx((low, high), abs=1e-6)


def test_nickel_workers():
    """Welsh nickel workers, Breslow and Day (1987), as in R's poisson.test example. [secondary]"""
    low, high = exact_poisson([137])
    assert np.array([137, low[0], high[0]]) / 24.19893 == pytest.approx(
        [5.661407, 4.753125, 6.692709], abs=1e-6
    )


def test_byars_approximation():
    """Breslow NE, Day NE (1987), chapter 2; numbers from a public library's documentation. [secondary]"""
    low, high = byar([100], [90], z=1.96)
    assert (low[0], high[0]) == pytest.approx((0.9040199067337297, 1.3514260807978444), abs=1e-12)


# Spiegelhalter DJ (2005), Statistics in Medicine 24:1185-1202, appendix: formula [memory], scipy's numbers
FUNNEL = [
    (20, (-0.04871, -0.01775, 0.296623, 0.41522)), (50, (0.005397, 0.046787, 0.245991, 0.314742)),
    (100, (0.045097, 0.078383, 0.218332, 0.264953)), (200, (0.075037, 0.099777, 0.198701, 0.230055)),
    (500, (0.101747, 0.118361, 0.180987, 0.200256)), (1000, (0.115619, 0.127694, 0.171955, 0.185377)),
]  # fmt: skip


@pytest.mark.parametrize(("size", "limits"), FUNNEL)
def test_funnel_limits(size, limits):
    found = [binomial_limits([size], 0.15, p)[0] for p in (0.001, 0.025, 0.975, 0.999)]
    assert found == pytest.approx(limits, abs=5e-6)


def test_limits_of_the_normal_curve_are_no_exact_ones():
    """The same table has normal limits beside them: at 20 calls they differ in the second digit."""
    normal = 0.15 + 3.0902 * np.sqrt(0.15 * 0.85 / 20)
    assert abs(binomial_limits([20], 0.15, 0.999)[0] - normal) > 0.015


def test_false_discovery():
    """Benjamini Y, Hochberg Y (1995), section 3.2, fifteen p values. [memory], recomputed in R."""
    p = [0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.324, 0.4262, 0.5719,
         0.6528, 0.759, 1.0]  # fmt: skip
    adjusted = [0.0015, 0.003, 0.0095, 0.035625, 0.0603, 0.06385714, 0.06385714, 0.0645, 0.0765, 0.486,
                0.58118182, 0.714875, 0.75323077, 0.81321429, 1.0]  # fmt: skip
    found = false_discovery(p)
    assert found == pytest.approx(adjusted, abs=1e-7)
    assert (found <= 0.05).sum() == 4
    assert (np.array(p) <= 0.05 / 15).sum() == 3, "Bonferroni rejects three"


# Efron B, Morris C (1975), JASA 70:311-319: 18 batters, 45 at-bats each. Data as in R's pscl. [memory]
HITS = np.array([18, 17, 16, 15, 14, 14, 13, 12, 11, 11, 10, 10, 10, 10, 10, 9, 8, 7])
ARCSINE = [0.29, 0.286, 0.281, 0.277, 0.273, 0.273, 0.268, 0.264, 0.259, 0.259, 0.254, 0.254, 0.254, 0.254,
           0.254, 0.249, 0.244, 0.239]  # fmt: skip
PLAIN = [0.294, 0.289, 0.285, 0.28, 0.275, 0.275, 0.27, 0.266, 0.261, 0.261, 0.256, 0.256, 0.256, 0.256,
         0.256, 0.252, 0.247, 0.242]  # fmt: skip


def test_shrinkage_on_the_scale_of_the_arcsine():
    x = np.sqrt(45) * np.arcsin(2 * HITS / 45 - 1)
    pulled, _ = shrunk(x, np.ones(18))
    assert (np.sin(pulled / np.sqrt(45)) + 1) / 2 == pytest.approx(ARCSINE, abs=6e-4)


def test_shrinkage_of_plain_rates():
    """Efron and Morris (1977), Scientific American 236(5):119-127: .400 becomes .294. [memory]"""
    rates = HITS / 45
    pulled, _ = shrunk(rates, np.full(18, rates.mean() * (1 - rates.mean()) / 45))
    assert pulled == pytest.approx(PLAIN, abs=6e-4)


# Berkeley admissions 1973 (Bickel and others 1975, Science 187:398-404). [memory], R agrees.
BERKELEY = [
    [[512, 89], [313, 19]], [[353, 17], [207, 8]], [[120, 202], [205, 391]], [[138, 131], [279, 244]],
    [[53, 94], [138, 299]], [[22, 24], [351, 317]],
]  # fmt: skip


def test_berkeley_admissions():
    found = mantel_haenszel(BERKELEY)
    assert (found.ratio, found.low, found.high) == pytest.approx((0.9046968, 0.7719074, 1.0603298), abs=1e-6)
    crude = np.sum(BERKELEY, axis=0)
    assert crude[0, 0] * crude[1, 1] / (crude[0, 1] * crude[1, 0]) == pytest.approx(1.8411, abs=1e-4)


def test_smoking_and_lung_cancer():
    """Doll and Hill (1950), as in Fagerland and others (2017), chapter 10.

    A published test has 2.3556 to 8.6880 for the interval, which a slip in one of its terms gives; R and
    statsmodels have the one here.
    """
    found = mantel_haenszel([[[647, 622], [2, 27]], [[41, 28], [19, 32]]])
    assert (found.ratio, found.low, found.high) == pytest.approx((4.523915, 2.4171005, 8.4670887), abs=1e-6)
