"""Rates over time at risk against values published elsewhere. The source stands beside each value.

Evidence: [published] read in the publication or a stored copy; [memory] remembered, and recomputed with
statsmodels, an independent program.
"""

from collections.abc import Callable

import numpy as np
import pytest
import statsmodels.api as sm

from analytics.statistics import incidence
from analytics.statistics.incidence import (
    mantel_haenszel_rates,
    rate_ratio,
    trend_of_rates,
    trend_of_shares,
)

# Doll R, Hill AB (1966), coronary deaths of British doctors: smokers and others by age, in person-years; the
# example of many textbooks (Breslow and Day (1987), chapter 3). Counts, ratios and limits [memory].
DEATHS = np.array([[32, 2], [104, 12], [206, 28], [186, 28], [102, 31]])
YEARS = np.array([[52407, 18790], [43248, 10673], [28612, 5710], [12663, 2585], [5317, 1462]])
BY_AGE = [
    (5.736638, 1.463557, 49.40468), (2.138812, 1.173714, 4.272545), (1.46824, 0.9863624, 2.264107),
    (1.35606, 0.9081925, 2.096412), (0.9047304, 0.6000757, 1.399687),
]  # fmt: skip
COMMON = (1.424682, 1.154703, 1.757784)


def poisson_model(design: np.ndarray, counts: np.ndarray, time: np.ndarray):
    return sm.GLM(counts, sm.add_constant(design), family=sm.families.Poisson(), offset=np.log(time))


def check_ratios() -> None:
    for (a, b), (of_a, of_b), told in zip(DEATHS.tolist(), YEARS.tolist(), BY_AGE, strict=True):
        found = rate_ratio((a, b), (of_a, of_b))
        assert (found.ratio, found.low, found.high) == pytest.approx(told, rel=2e-6)


def check_common() -> None:
    found = mantel_haenszel_rates(DEATHS, YEARS)
    assert (found.ratio, found.low, found.high) == pytest.approx(COMMON, rel=1e-6)


def test_exact_rate_ratios_of_british_doctors() -> None:
    check_ratios()


def test_common_rate_ratio_of_british_doctors() -> None:
    check_common()


def test_poisson_regression_tells_much_the_same_ratio() -> None:
    """The regression on smoking and age: 1.425519 (1.154984 to 1.759421) [memory], statsmodels agrees."""
    ages = np.tile(np.eye(5)[:, 1:], (2, 1))
    smokes = np.repeat([1.0, 0.0], 5)
    fitted = poisson_model(np.column_stack([smokes, ages]), DEATHS.T.ravel(), YEARS.T.ravel()).fit()
    assert np.exp(fitted.params[1]) == pytest.approx(1.425519, rel=1e-6)
    assert mantel_haenszel_rates(DEATHS, YEARS).ratio == pytest.approx(np.exp(fitted.params[1]), rel=0.002)


def check_trend_of_rates() -> None:
    """The score test of a log-linear Poisson model, by statsmodels."""
    counts, time, scores = np.array([2, 12, 28, 28, 31]), YEARS[:, 1], np.arange(5.0)
    null = poisson_model(scores[:, None], counts, time)
    told = null.score_test(np.array([np.log(counts.sum() / time.sum()), 0.0]), k_constraints=1)
    found = trend_of_rates(counts, time, scores)
    assert found.chi2 == pytest.approx(float(np.ravel(told[0])[0]), rel=1e-9)
    assert found.p == pytest.approx(float(np.ravel(told[1])[0]), rel=1e-6)
    assert found.rises
    moved = trend_of_rates(counts, time, 7 - 3 * scores)
    assert (moved.chi2, moved.rises) == (pytest.approx(found.chi2), False)


def test_trend_of_rates_is_the_score_test_of_a_poisson_model() -> None:
    check_trend_of_rates()


# Fleiss JL (1981), p. 139, as in R's prop.trend.test [memory, R agrees]; pain data of the SAS manual, inputs
# [published]; lung tumours, inputs [published: documentation of DescTools], R agrees
SHARES = [
    ([83, 90, 129, 70], [86, 93, 136, 82], [1, 2, 3, 4], 8.2249, 0.004132),
    ([6, 7, 9, 14, 23], [32, 33, 32, 32, 32], [0, 1, 2, 3, 4], 4.791813**2, 1.652813e-06),
    ([2, 7, 15], [40, 50, 48], [0, 1, 2], 10.71571, 0.001062295),
]


def check_trend_of_shares() -> None:
    for counts, totals, scores, chi2, p in SHARES:
        found = trend_of_shares(counts, totals, scores)
        assert (found.chi2, found.p) == (pytest.approx(chi2, rel=1e-5), pytest.approx(p, rel=2e-4))


def test_published_trends_of_shares() -> None:
    check_trend_of_shares()


@pytest.mark.parametrize(
    ("name", "wrong", "check"),
    [
        ("mantel_haenszel_rates", lambda d, t: rate_ratio(tuple(d.sum(0)), tuple(t.sum(0))), check_common),
        ("trend_of_rates", trend_of_shares, check_trend_of_rates),
        ("trend_of_shares", trend_of_rates, check_trend_of_shares),
        ("rate_ratio", lambda d, t: mantel_haenszel_rates([d], [t]), check_ratios),
    ],
)
def test_a_wrong_method_is_caught(
    name: str, wrong: Callable, check: Callable, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(globals(), name, wrong)
    with pytest.raises(AssertionError):
        check()


def test_nothing_counted_is_no_ratio_and_no_trend() -> None:
    assert rate_ratio((0, 0), (5.0, 5.0)) is None
    assert rate_ratio((1, 1), (0.0, 5.0)) is None
    assert rate_ratio((3, 0), (5.0, 5.0)).high == np.inf
    assert mantel_haenszel_rates([[1, 0]], [[2.0, 0.0]]) is None
    assert trend_of_rates([0, 0], [1.0, 1.0], [0, 1]) is None
    assert trend_of_shares([0, 0], [1, 1], [0, 1]) is None


def coverage(interval: Callable, seed: int = 5, repeats: int = 2000) -> tuple[float, float]:
    """Share of replicates in which the interval of a rate, and of a ratio, holds the truth."""
    rng = np.random.default_rng(seed)
    time, rate = np.array([300.0, 900.0]), np.array([0.03, 0.02])
    counts = rng.poisson(time * rate, (repeats, 2))
    _, low, high = interval(counts[:, 0], np.full(repeats, time[0]))
    held = ((low <= rate[0]) & (rate[0] <= high)).mean()
    ratios = [rate_ratio((int(a), int(b)), (time[0], time[1])) for a, b in counts]
    return float(held), float(np.mean([each.low <= 1.5 <= each.high for each in ratios]))


def test_exact_intervals_cover_at_least_so_often() -> None:
    of_rate, of_ratio = coverage(incidence.incidence)
    assert of_rate >= 0.94
    assert of_ratio >= 0.94


def test_common_ratio_covers_as_often_as_it_says() -> None:
    rng = np.random.default_rng(11)
    time = np.array([[400.0, 900.0], [700.0, 500.0], [250.0, 800.0]])
    rate = np.array([0.02, 0.05, 0.1])[:, None] * np.array([1.6, 1.0])
    held = [
        (each := mantel_haenszel_rates(counts, time)).low <= 1.6 <= each.high
        for counts in rng.poisson(time * rate, (2000, 3, 2))
    ]
    assert 0.935 <= np.mean(held) <= 0.965
