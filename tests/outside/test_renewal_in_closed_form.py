"""The interval of least cost against closed forms, and broken on purpose."""

import numpy as np
import pytest

from analytics.statistics.replacement import best_age, renewal_costs

AGES = np.arange(1, 5001) / 100


def weibull(scale: float, shape: float = 2.0) -> np.ndarray:
    """Hazard of each step whose sum is scale times age to the power of shape."""
    return np.diff(scale * AGES**shape, prepend=0.0) / np.diff(AGES, prepend=0.0)


def check_closed_form() -> None:
    """Cumulative hazard b T^2 costs least at T = sqrt(of_renewal / (of_failure b)).

    There it costs 2 sqrt(of_renewal of_failure b): the derivative of (of_renewal + of_failure b T^2) / T is
    nothing there. In general, with T to the power k, T = (of_renewal / ((k - 1) of_failure b))^(1 / k).
    """
    for of_renewal, of_failure, b in ((43, 148, 0.002), (10, 100, 0.01), (35, 500, 0.0004)):
        costs = renewal_costs(AGES, weibull(b), of_renewal, of_failure)
        assert best_age(AGES, costs) == pytest.approx((of_renewal / (of_failure * b)) ** 0.5, abs=0.011)
        assert costs.min() == pytest.approx(2 * (of_renewal * of_failure * b) ** 0.5, rel=1e-4)
    cubic = renewal_costs(AGES, weibull(0.0001, 3.0), 20, 100)
    assert best_age(AGES, cubic) == pytest.approx((20 / (2 * 100 * 0.0001)) ** (1 / 3), abs=0.011)


def test_closed_form() -> None:
    check_closed_form()


@pytest.mark.parametrize("shape", [1.0, 0.7])
def test_no_age_pays_where_the_hazard_does_not_rise(shape: float) -> None:
    assert np.isinf(best_age(AGES, renewal_costs(AGES, weibull(0.02, shape), 10, 100)))


@pytest.mark.parametrize(
    "wrong",
    [
        lambda ages, hazard, a, b: a / ages + b * hazard,  # the hazard then, not what has failed until then
        lambda ages, hazard, a, b: (a + b * np.cumsum(hazard)) / ages,  # width of the steps forgotten
        lambda ages, hazard, a, b: (a + b + b * np.cumsum(hazard * np.diff(ages, prepend=0.0))) / ages,
    ],
)
def test_another_cost_is_caught(monkeypatch: pytest.MonkeyPatch, wrong) -> None:
    monkeypatch.setitem(globals(), "renewal_costs", wrong)
    with pytest.raises(AssertionError):
        check_closed_form()
