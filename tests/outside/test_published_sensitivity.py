"""What could explain an association away, and rates that multiply, against values from elsewhere."""

from collections.abc import Callable

import numpy as np
import pytest
import statsmodels.api as sm

from analytics.statistics import multiplicative
from analytics.statistics.multiplicative import multiplicative_rates
from analytics.statistics.sensitivity import e_value, e_value_of_limit


def check_worked_example(of_ratio: Callable[[float], float]) -> None:
    """VanderWeele TJ, Ding P (2017), Annals of Internal Medicine 167:268-274, worked example (from memory).

    A ratio of 3.9 with limits 1.8 and 8.7 (the upper one from memory too) has E-values 7.26 and 3.0.
    """
    assert of_ratio(3.9) == pytest.approx(7.26, abs=0.005)
    assert of_ratio(1.8) == pytest.approx(3.0, abs=0.005)
    assert of_ratio(1 / 3.9) == pytest.approx(7.26, abs=0.005)


def test_worked_example() -> None:
    check_worked_example(e_value)
    assert e_value_of_limit(1.8, 8.7) == pytest.approx(3.0, abs=0.005)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda ratio: ratio + (ratio * abs(ratio - 1)) ** 0.5,  # below 1 not turned round
        lambda ratio: max(ratio, 1 / ratio) ** 2,
        lambda ratio: max(ratio, 1 / ratio),
    ],
)
def test_another_formula_is_caught(wrong: Callable[[float], float]) -> None:
    with pytest.raises(AssertionError):
        check_worked_example(wrong)


def test_nothing_is_needed_where_the_interval_holds_one() -> None:
    assert e_value_of_limit(0.9, 1.4) == e_value(1.0) == 1.0
    assert e_value_of_limit(0.5, 0.8) == e_value(0.8) == e_value(1.25)
    with pytest.raises(ValueError, match="above 0"):
        e_value(0.0)


def check_against_regression() -> None:
    """The same likelihood by another program: Poisson regression (statsmodels), a term a kind and band."""
    rng = np.random.default_rng(3)
    time = rng.uniform(20, 400, (9, 5))
    time[2, 3] = 0
    counts = rng.poisson(time * rng.uniform(0.02, 0.2, 9)[:, None] * np.array([2.0, 1.0, 1.2, 1.5, 1.4]))
    levels, ratios = multiplicative_rates(counts.sum(axis=0), counts.sum(axis=1), time)
    kind, band = (each.ravel() for each in np.indices(time.shape))
    seen = time.ravel() > 0
    columns = [kind == at for at in range(9)] + [band == at for at in range(1, 5)]
    design = np.column_stack(columns).astype(float)[seen]
    offset = np.log(time.ravel()[seen])
    model = sm.GLM(counts.ravel()[seen], design, family=sm.families.Poisson(), offset=offset).fit(tol=1e-12)
    expected = np.zeros(time.size)
    expected[seen] = model.fittedvalues
    assert (levels[:, None] * time * ratios).ravel() == pytest.approx(expected, rel=1e-5)


def test_rates_that_multiply_are_those_of_a_regression() -> None:
    check_against_regression()


def test_one_round_alone_is_caught(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(multiplicative, "MOST_ROUNDS", 1)
    with pytest.raises(AssertionError):
        check_against_regression()


def test_bands_and_kinds_without_failures_or_time_stay_nothing() -> None:
    time = np.array([[10.0, 0.0, 5.0], [20.0, 0.0, 5.0]])
    levels, ratios = multiplicative_rates(np.array([3.0, 0.0, 0.0]), np.array([3.0, 0.0]), time)
    assert ratios[1:].tolist() == [0.0, 0.0]
    assert levels[1] == 0.0
    assert (levels[:, None] * time * ratios).sum() == pytest.approx(3.0)
