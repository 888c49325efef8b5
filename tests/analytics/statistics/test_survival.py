"""The curve and the test, against published values, R's survival package and lifelines."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from lifelines import AalenJohansenFitter, KaplanMeierFitter
from lifelines.statistics import multivariate_logrank_test

from analytics.statistics.survival import cumulative_incidence, log_rank

# Freireich and others (1963), Blood 21:699-716, weeks in remission under 6-MP and under placebo
TREATED = [10, 7, 32, 23, 22, 6, 16, 34, 32, 25, 11, 20, 19, 6, 17, 35, 6, 13, 9, 6, 10]
RELAPSED = [1, 1, 0, 1, 1, 1, 1, 0, 0, 0, 0, 0, 0, 1, 0, 0, 1, 1, 0, 0, 0]
PLACEBO = [1, 22, 3, 12, 8, 17, 2, 11, 8, 12, 2, 5, 4, 15, 8, 23, 5, 11, 4, 1, 8]


def counted(times: list[int], kinds: list[int]) -> tuple[np.ndarray, ...]:
    """Counts by time of kind 1 (it happened), 2 (something else did) and 0 (censored)."""
    distinct = np.unique(times)
    by_kind = [
        np.array([sum(t == at and k == kind for t, k in zip(times, kinds, strict=True)) for at in distinct])
        for kind in (1, 2, 0)
    ]
    return distinct, *by_kind


def test_remission_as_published() -> None:
    curve = cumulative_incidence(*counted(TREATED, RELAPSED))
    assert curve.time.tolist() == [6, 7, 10, 13, 16, 22, 23]
    assert curve.at_risk.tolist() == [21, 17, 15, 12, 11, 7, 6]
    # table in Kleinbaum and Klein, Survival Analysis (from memory); recomputed with R survival 3.5
    assert (1 - curve.share).round(4).tolist() == [0.8571, 0.8067, 0.7529, 0.6902, 0.6275, 0.5378, 0.4482]


def test_interval_is_that_of_kaplan_meier_without_competing_events() -> None:
    curve = cumulative_incidence(*counted(TREATED, RELAPSED))
    # log-log limits by lifelines 0.30.3
    expected = {6: (0.619718, 0.951552), 10: (0.5032, 0.889362), 23: (0.188052, 0.680143)}
    for week, (low, high) in expected.items():
        at = curve.time.tolist().index(week)
        assert (1 - curve.high[at], 1 - curve.low[at]) == (
            pytest.approx(low, abs=1e-6),
            pytest.approx(high, abs=1e-6),
        )


def test_read_as_a_callback_rate_it_is_neither_naive_share() -> None:
    curve = cumulative_incidence(*counted(TREATED, RELAPSED))
    # 5 of 21 is too low, 5 of the 19 followed for ten weeks too high
    assert curve.share[curve.time.tolist().index(10)] == pytest.approx(0.247059, abs=1e-6)


def test_log_rank_as_published() -> None:
    times, kinds = TREATED + PLACEBO, RELAPSED + [1] * 21
    groups = [0] * 21 + [1] * 21
    found = log_rank(*by_group(times, kinds, groups, 2))
    assert found is not None
    assert found.chi_square == pytest.approx(16.792941, abs=1e-6)  # R survival 3.5
    assert found.p == pytest.approx(4.1688e-05, rel=1e-4)
    assert found.degrees == 1


def by_group(
    times: list[int], kinds: list[int], groups: list[int], count: int
) -> tuple[np.ndarray, np.ndarray]:
    distinct = np.unique(times)
    happened = np.zeros((len(distinct), count))
    leaving = np.zeros((len(distinct), count))
    for t, k, g in zip(times, kinds, groups, strict=True):
        row = np.searchsorted(distinct, t)
        happened[row, g] += k == 1
        leaving[row, g] += 1
    return happened, leaving


followed = st.lists(
    st.tuples(st.integers(1, 40), st.integers(0, 2), st.integers(0, 2)), min_size=4, max_size=80
)


@given(followed)
def test_curve_is_one_minus_kaplan_meier_of_lifelines(rows: list[tuple[int, int, int]]) -> None:
    times, kinds = [time for time, _, _ in rows], [min(kind, 1) for _, kind, _ in rows]
    if 1 not in kinds:
        return
    curve = cumulative_incidence(*counted(times, kinds))
    fitter = KaplanMeierFitter().fit(times, kinds)
    assert curve.share == pytest.approx(1 - fitter.survival_function_at_times(curve.time).to_numpy())


@given(st.permutations(range(1, 41)), st.lists(st.integers(0, 2), min_size=40, max_size=40))
def test_curve_with_competing_events_is_that_of_lifelines(times: list[int], kinds: list[int]) -> None:
    if 1 not in kinds or 2 not in kinds:
        return
    curve = cumulative_incidence(*counted(times, kinds))
    fitter = AalenJohansenFitter().fit(times, kinds, event_of_interest=1)  # no ties: nothing is moved about
    expected = fitter.cumulative_density_.iloc[:, 0].reindex(curve.time, method="ffill").to_numpy()
    assert curve.share == pytest.approx(expected)
    variance = fitter.variance_.reindex(curve.time).to_numpy()
    told = np.isfinite(variance)  # lifelines tells none where everybody still followed leaves at once
    assert curve.error[told] ** 2 == pytest.approx(variance[told])


@given(followed)
def test_log_rank_is_that_of_lifelines(rows: list[tuple[int, int, int]]) -> None:
    times, kinds, groups = (list(column) for column in zip(*rows, strict=True))
    happened = [kind == 1 for kind in kinds]
    if len(set(groups)) < 2 or not any(happened):
        return
    found = log_rank(*by_group(times, kinds, groups, 3))
    expected = multivariate_logrank_test(times, groups, happened)
    assert found is not None
    assert found.chi_square == pytest.approx(expected.test_statistic, abs=1e-6)


def test_without_censoring_the_curve_is_the_share() -> None:
    rng = np.random.default_rng(1)
    days = rng.integers(1, 60, 500)
    curve = cumulative_incidence(*counted([*days, *[60] * 500], [1] * 500 + [0] * 500))
    for window in (7, 14, 30):
        at = np.searchsorted(curve.time, window, side="right") - 1
        assert curve.share[at] == pytest.approx(np.mean([*(days <= window), *[False] * 500]))


def test_treating_other_events_as_censorings_is_caught() -> None:
    """The broken twin: one minus Kaplan-Meier, with competing events as censorings, says too much."""
    times, kinds = [*range(1, 31)], [1, 2, 2] * 10
    time, happened, competing, censored = counted(times, kinds)
    right = cumulative_incidence(time, happened, competing, censored).share[-1]
    wrong = cumulative_incidence(time, happened, 0 * competing, censored + competing).share[-1]
    assert right == pytest.approx(10 / 30)
    assert wrong > right + 0.1
