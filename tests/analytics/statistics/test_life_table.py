"""Curves by whole days against published values and lifelines, with late entry and competing causes."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from lifelines import AalenJohansenFitter, KaplanMeierFitter, NelsonAalenFitter

from analytics.statistics.life_table import at_risk, cumulative_hazard, daily_hazard, happened_by, still_free

DAYS = 41

# the day before the first one watched, days watched, and what ended it: 0 nothing, 1 or 2 a failure
watched = st.lists(
    st.tuples(st.integers(0, 15), st.integers(1, 25), st.integers(0, 2)), min_size=5, max_size=60
)


def counted(rows: list[tuple[int, int, int]]) -> tuple[np.ndarray, dict[int, np.ndarray]]:
    """Return those watched, and events of each kind, by day."""
    entering, leaving = np.zeros(DAYS), np.zeros(DAYS)
    events = {kind: np.zeros(DAYS) for kind in (0, 1, 2)}
    for entry, days, kind in rows:
        entering[entry + 1] += 1
        leaving[entry + days] += 1
        events[kind][entry + days] += 1
    return at_risk(entering, leaving), events


def check_free(rows: list[tuple[int, int, int]], counts=counted) -> None:
    n, events = counts(rows)
    both = events[1] + events[2]
    entry = [entry for entry, _, _ in rows]
    ends, failed = [entry + days for entry, days, _ in rows], [kind > 0 for _, _, kind in rows]
    fitter = KaplanMeierFitter().fit(ends, failed, entry=entry)
    told = fitter.survival_function_at_times(range(DAYS)).to_numpy()
    free = still_free(daily_hazard(both, n))
    assert free == pytest.approx(told)
    summed = NelsonAalenFitter(nelson_aalen_smoothing=False).fit(ends, failed, entry=entry)
    hazard = summed.cumulative_hazard_at_times(range(DAYS)).to_numpy()
    assert cumulative_hazard(daily_hazard(both, n)) == pytest.approx(hazard)


@given(watched)
def test_curves_with_late_entry_are_those_of_lifelines(rows: list[tuple[int, int, int]]) -> None:
    assume(any(kind for _, _, kind in rows))
    check_free([*rows, (0, 40, 0)])  # one is there throughout: lifelines refuses when nobody is left


ROWS = [(0, 5, 1), (0, 9, 0), (3, 6, 1), (4, 8, 2), (8, 9, 1), (10, 12, 0), (0, 20, 2)]


def test_entering_late_and_counted_from_the_start_is_caught() -> None:
    def from_the_start(rows):
        return counted([(0, entry + days, kind) for entry, days, kind in rows])

    check_free(ROWS)
    with pytest.raises(AssertionError):
        check_free(ROWS, from_the_start)


@given(st.permutations(range(1, 41)), st.lists(st.integers(0, 2), min_size=40, max_size=40))
def test_competing_causes_are_those_of_lifelines(ends: list[int], kinds: list[int]) -> None:
    if 1 not in kinds or 2 not in kinds:
        return
    n, events = counted([(0, end, kind) for end, kind in zip(ends, kinds, strict=True)])
    fitter = AalenJohansenFitter().fit(ends, kinds, event_of_interest=1)  # no ties: nothing is moved about
    told = fitter.cumulative_density_.iloc[:, 0].reindex(range(DAYS), method="ffill").to_numpy()
    both = events[1] + events[2]
    assert happened_by(events[1], both, n) == pytest.approx(told)
    alone = 1 - still_free(daily_hazard(events[1], n))
    assert (alone >= happened_by(events[1], both, n) - 1e-12).all()
    kinds_together = happened_by(events[1], both, n) + happened_by(events[2], both, n)
    assert kinds_together == pytest.approx(1 - still_free(daily_hazard(both, n)))


def test_example_of_the_documentation() -> None:
    """The example of docs/metrics.md: four filters, three first failures, one changed on the day of one."""
    n, events = counted([(0, 1, 1), (0, 2, 2), (0, 3, 1), (0, 3, 0)])
    both = events[1] + events[2]
    assert 1 - still_free(daily_hazard(both, n))[3] == pytest.approx(0.75)
    assert happened_by(events[1], both, n)[3] == pytest.approx(0.5)
    assert happened_by(events[2], both, n)[3] == pytest.approx(0.25)


def test_one_minus_kaplan_meier_of_one_cause_is_too_much() -> None:
    """The broken twin: who failed otherwise would be taken as still waiting."""
    n, events = counted([(0, 3, 2), (0, 4, 2), (0, 6, 1), (0, 9, 1)])
    right = happened_by(events[1], events[1] + events[2], n)[-1]
    assert right == pytest.approx(0.5)
    assert 1 - still_free(daily_hazard(events[1], n))[-1] == pytest.approx(1.0)


def test_remission_data() -> None:
    """Freireich EJ et al. (1963), Blood 21:699-716; survival to four digits, from memory."""
    time = [10, 7, 32, 23, 22, 6, 16, 34, 32, 25, 11, 20, 19, 6, 17, 35, 6, 13, 9, 6, 10]
    event = [1, 1, 0, 1, 1, 1, 1, 0, 0, 0, 0, 0, 0, 1, 0, 0, 1, 1, 0, 0, 0]
    n, events = counted([(0, end, kind) for end, kind in zip(time, event, strict=True)])
    at = [6, 7, 10, 13, 16, 22, 23]
    published = [0.8571, 0.8067, 0.7529, 0.6902, 0.6275, 0.5378, 0.4482]
    assert n[at].tolist() == [21, 17, 15, 12, 11, 7, 6]
    assert still_free(daily_hazard(events[1], n))[at] == pytest.approx(published, abs=5e-5)


def test_draws_are_answered_at_once() -> None:
    n, events = counted(ROWS)
    both = events[1] + events[2]
    twice = happened_by(np.stack([events[1]] * 2), np.stack([both] * 2), np.stack([n] * 2))
    assert twice[1] == pytest.approx(happened_by(events[1], both, n))
