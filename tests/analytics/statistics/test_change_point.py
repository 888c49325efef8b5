"""The day of a change: against plain likelihoods, statsmodels, and series whose change is known."""

from collections.abc import Iterator

import numpy as np
import pytest
import statsmodels.api as sm
from scipy import stats
from scipy.special import expit

from analytics.statistics import change_point
from analytics.statistics.change_point import LEAST_CALLS, Change, find_change

DAYS, A_DAY, USUAL = 500, 4, 0.08
SEEDS = range(120)


def series(seed: int, odds_ratio: float = 1.0) -> tuple[np.ndarray, np.ndarray, int]:
    """Return returns and calls of each day, and the first day after the change."""
    generator = np.random.default_rng(seed)
    at = int(generator.integers(DAYS // 4, DAYS * 3 // 4))
    calls = 1 + generator.poisson(A_DAY - 1, DAYS)
    odds = USUAL / (1 - USUAL) * np.where(np.arange(DAYS) < at, 1, odds_ratio)
    return generator.binomial(calls, odds / (1 + odds)), calls, at


def found_in(seed: int, odds_ratio: float = 1.0) -> tuple[Change, int]:
    happened, calls, at = series(seed, odds_ratio)
    found = find_change(happened, calls[:, None], np.zeros(1))
    assert found is not None
    return found, at


def covered() -> Iterator[bool]:
    for seed in SEEDS:
        found, at = found_in(seed, odds_ratio=2.2)
        yield found.first <= at <= found.last


def claimed() -> float:
    return float(np.mean([found_in(seed)[0].p < 0.05 for seed in SEEDS]))


def test_set_of_days_holds_the_true_one() -> None:
    """Wanted: in at least 90% of series."""
    assert np.mean(list(covered())) >= 0.9


def test_set_that_is_too_narrow_is_caught(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(change_point, "SET", 0.5)
    assert np.mean(list(covered())) < 0.9


def test_no_change_is_claimed_where_there_is_none() -> None:
    """Wanted: 5% of series; of 120 at most 7 in 100 (8 series), 5% plus one standard error."""
    assert claimed() <= 0.07


def test_a_test_that_forgets_that_the_day_was_sought_is_caught(monkeypatch: pytest.MonkeyPatch) -> None:
    tested = change_point._tested

    def as_if_named_beforehand(*given: object) -> tuple[float, float]:
        statistic, _ = tested(*given)  # type: ignore[arg-type]
        return statistic, float(stats.chi2.sf(statistic, 1))

    monkeypatch.setattr(change_point, "_tested", as_if_named_beforehand)
    assert claimed() > 0.2


def test_a_doubled_rate_is_found() -> None:
    assert np.mean([found_in(seed, odds_ratio=2.2)[0].p < 0.05 for seed in SEEDS]) > 0.9


def test_day_and_set_are_those_of_plain_binomial_likelihoods() -> None:
    happened, calls, _ = series(3, odds_ratio=2.0)

    def likelihood(part: slice) -> float:
        x, n = happened[part], calls[part]
        return float(stats.binom.logpmf(x, n, x.sum() / n.sum()).sum())

    days = [
        day for day in range(1, DAYS) if calls[:day].sum() >= LEAST_CALLS and calls[day:].sum() >= LEAST_CALLS
    ]
    values = np.array([likelihood(slice(0, day)) + likelihood(slice(day, DAYS)) for day in days])
    # 7.35: 95% point of (1 - exp(-x / 2)) squared, Hansen (2000), table of critical values (from memory)
    held = [day for day, value in zip(days, values, strict=True) if 2 * (values.max() - value) <= 7.35]
    found = find_change(happened, calls[:, None], np.zeros(1))
    assert found is not None
    assert found.at == days[int(values.argmax())]
    assert (found.first, found.last) == (held[0], held[-1])


def test_odds_on_either_side_are_those_of_a_regression_with_what_was_expected() -> None:
    """Statsmodels, logistic regression with the expected log odds as offset and one constant."""
    generator = np.random.default_rng(5)
    log_odds = np.log([0.04, 0.12, 0.4])
    which = generator.integers(3, size=900)
    came_back = generator.random(900) < expit(log_odds[which] + np.where(np.arange(900) < 500, 0, 1.1))
    calls = np.zeros((90, 3))
    np.add.at(calls, (np.arange(900) // 10, which), 1)
    found = find_change(came_back.reshape(90, 10).sum(axis=1), calls, log_odds)
    assert found is not None
    for part, ratio in ((slice(0, found.at * 10), found.before), (slice(found.at * 10, 900), found.after)):
        y, offset = came_back[part].astype(float), log_odds[which[part]]
        fit = sm.GLM(y, np.ones(len(y)), family=sm.families.Binomial(), offset=offset).fit()
        assert np.log(ratio) == pytest.approx(fit.params[0], abs=1e-5)


def test_harder_work_is_no_change() -> None:
    """The plain rate doubles because the work does; given what was expected nothing changed."""
    generator = np.random.default_rng(8)
    hard = (np.arange(DAYS) >= 250).astype(int)
    calls = np.full(DAYS, A_DAY)
    log_odds = np.log([0.06, 0.16])
    happened = generator.binomial(calls, expit(log_odds[hard]))
    by_class = np.zeros((DAYS, 2))
    by_class[np.arange(DAYS), hard] = calls
    given = find_change(happened, by_class, log_odds)
    plain = find_change(happened, calls[:, None], np.zeros(1))
    assert given is not None
    assert plain is not None
    assert given.p > 0.05
    assert plain.p < 0.05


def test_too_few_calls_and_none_or_all_back_say_nothing() -> None:
    assert find_change([], np.zeros((0, 1)), [0.0]) is None
    assert find_change([1, 2], [[20], [20]], [0.0]) is None
    assert find_change([0, 0], [[50], [50]], [0.0]) is None
    assert find_change([50, 50], [[50], [50]], [0.0]) is None
    assert find_change([1, 9], [[50], [50]], [0.0]) is not None


def test_calls_that_hang_together_prove_less() -> None:
    happened, calls, _ = series(3, odds_ratio=2.0)
    alone = find_change(happened, calls[:, None], np.zeros(1))
    together = find_change(happened, calls[:, None], np.zeros(1), dispersion=2.0)
    assert alone is not None
    assert together is not None
    assert together.statistic == pytest.approx(alone.statistic / 2)
    assert together.first <= alone.first
    assert together.last >= alone.last
