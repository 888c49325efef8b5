"""Mean cumulative function against published examples, its properties, and a variance that is not robust."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.statistics import recurrences
from analytics.statistics.recurrences import MeanCumulative, mean_cumulative

# Valve seats of 41 diesel engines: Nelson W (1995), Technometrics 37:147-157; data as in the SAS/QC
# RELIABILITY documentation. Replacements in days, then the end of the history. Engine 328 has two on day
# 653, engine 402 two on day 139; 389 and 390 end on day 653 and are still at risk then.
VALVE_SEATS = [
    ([], 761), ([], 759), ([98], 667), ([326, 653, 653], 667), ([], 665), ([84], 667), ([87], 663),
    ([646], 653),
    ([92], 653), ([], 651), ([258, 328, 377, 621], 650), ([61, 539], 648), ([254, 276, 298, 640], 644),
    ([76, 538], 642), ([635], 641), ([349, 404, 561], 649), ([], 631), ([], 596), ([120, 479], 614),
    ([323, 449], 582), ([139, 139], 589), ([], 593), ([573], 589), ([165, 408, 604], 606), ([249], 594),
    ([344, 497], 613), ([265, 586], 595), ([166, 206, 348], 389), ([], 601), ([410, 581], 601), ([], 611),
    ([], 608), ([], 587), ([367], 603), ([202, 563, 570], 585), ([], 587), ([], 578), ([], 578), ([], 586),
    ([], 585), ([], 582),
]  # fmt: skip
# Mean and robust standard error at some ages, computed by hand in R; survival::survfit(..., id=) agrees up to
# day 646. Age: (at risk, mean, robust standard error).
VALVE_SEATS_KNOWN = {
    61: (41, 0.024390, 0.024091), 139: (41, 0.219512, 0.073270), 404: (40, 0.683537, 0.135939),
    604: (22, 1.059719, 0.185061), 621: (17, 1.118542, 0.207503), 646: (13, 1.320465, 0.228505),
    653: (9, 1.542688, 0.311656),
}  # fmt: skip

# Five systems: example in the documentation of the Python package reliability; the last time of each list is
# the end of its history. That package's variance leaves out the covariance of the increments (0.064 at 6);
# the robust one is 0.048, computed in R.
FIVE_SYSTEMS = [
    ([5, 10, 15], 17), ([6, 13, 17], 19), ([12, 20, 25], 26), ([13, 15], 24), ([16, 22, 25], 28),
]  # fmt: skip
FIVE_SYSTEMS_TIME = [5, 6, 10, 12, 13, 15, 16, 17, 20, 22, 25]
FIVE_SYSTEMS_MEAN = [0.2, 0.4, 0.6, 0.8, 1.2, 1.6, 1.8, 2.0, 2.333333, 2.666667, 3.666667]
FIVE_SYSTEMS_SE = [
    0.178885, 0.219089, 0.357771, 0.334664, 0.334664, 0.45607, 0.334664, 0.4, 0.435465, 0.381032, 0.381032,
]  # fmt: skip


def of(histories: list[tuple[list[int], int]], **more: object) -> MeanCumulative:
    units = [n for n, (events, _) in enumerate(histories) for _ in events]
    ages = [age for events, _ in histories for age in events]
    starts = [0] * len(histories)
    return mean_cumulative(starts, [end for _, end in histories], units, ages, **more)  # type: ignore[arg-type]


def check_valve_seats() -> None:
    found = of(VALVE_SEATS)
    at = [found.time.tolist().index(age) for age in VALVE_SEATS_KNOWN]
    risk, mean, se = zip(*VALVE_SEATS_KNOWN.values(), strict=True)
    assert found.at_risk[at].tolist() == list(risk)
    assert found.mean[at] == pytest.approx(mean, abs=1e-6)
    assert found.se[at] == pytest.approx(se, abs=1e-6)


def check_five_systems() -> None:
    found = of(FIVE_SYSTEMS)
    assert found.time.tolist() == FIVE_SYSTEMS_TIME
    assert found.mean == pytest.approx(FIVE_SYSTEMS_MEAN, abs=1e-6)
    assert found.se == pytest.approx(FIVE_SYSTEMS_SE, abs=1e-6)
    assert found.se[1] ** 2 == pytest.approx(0.048)


def test_valve_seats_with_ties_and_units_that_end_on_the_day() -> None:
    check_valve_seats()


def test_five_systems_have_the_robust_variance() -> None:
    check_five_systems()


@pytest.mark.parametrize("check", [check_valve_seats, check_five_systems])
def test_poisson_variance_is_caught(monkeypatch: pytest.MonkeyPatch, check: object) -> None:
    monkeypatch.setitem(globals(), "mean_cumulative", poisson_variance_of(mean_cumulative))
    with pytest.raises(AssertionError):
        check()  # type: ignore[operator]


def poisson_variance_of(right: object) -> object:
    def wrong(*arguments: object, **more: object) -> MeanCumulative:
        found = right(*arguments, **more)  # type: ignore[operator]
        events = np.diff(found.mean, prepend=0) * found.at_risk
        se = np.sqrt(np.cumsum(events / found.at_risk**2))
        return MeanCumulative(found.time, found.at_risk, found.mean, se, found.low, found.high)

    return wrong


def test_a_unit_that_ends_on_a_day_not_at_risk_then_is_caught(monkeypatch: pytest.MonkeyPatch) -> None:
    def too_early(began: np.ndarray, ended: np.ndarray, at: np.ndarray) -> np.ndarray:
        return np.searchsorted(began, at, side="right") - np.searchsorted(ended, at, side="right")

    monkeypatch.setattr(recurrences, "_watched", too_early)
    with pytest.raises(AssertionError):
        check_valve_seats()


histories = st.lists(
    st.tuples(st.lists(st.integers(0, 30), max_size=6), st.just(30)), min_size=1, max_size=12
).filter(lambda each: any(events for events, _ in each))


@given(histories)
def test_watched_to_one_end_the_mean_is_events_over_units(each: list[tuple[list[int], int]]) -> None:
    found = of(each, at=[30])
    assert found.mean[0] == pytest.approx(sum(len(events) for events, _ in each) / len(each))
    counts = [len(events) for events, _ in each]
    # then the robust variance is that of a mean of the units' counts (divisor n), by numpy
    assert found.se[0] ** 2 == pytest.approx(np.var(counts) / len(counts), abs=1e-9)


@given(histories, st.randoms())
def test_order_of_units_does_not_matter(each: list[tuple[list[int], int]], random: object) -> None:
    mixed = list(each)
    random.shuffle(mixed)  # type: ignore[attr-defined]
    one, other = of(each), of(mixed)
    assert one.mean == pytest.approx(other.mean)
    assert one.se == pytest.approx(other.se)


def test_a_unit_without_events_counts_at_risk() -> None:
    assert of([([2], 9), ([], 9)]).mean.tolist() == [0.5]


def test_a_unit_is_not_at_risk_before_its_watch_begins() -> None:
    found = mean_cumulative([0, 5], [9, 9], [0, 0, 1], [2, 7, 7])
    assert found.at_risk.tolist() == [1, 2]
    assert found.mean.tolist() == [1.0, 2.0]
    with pytest.raises(ValueError, match="outside"):
        mean_cumulative([0, 5], [9, 9], [1], [2])


def test_left_truncation_does_not_bend_the_mean() -> None:
    """Two events a year at every age; a unit watched from a random age on: the mean is 2 x age."""
    rng = np.random.default_rng(7)
    n = 4000
    starts = np.where(rng.random(n) < 0.3, 0.0, rng.uniform(0, 8, n))
    ends = starts + rng.uniform(0.5, 4, n)
    counts = rng.poisson(2 * (ends - starts))
    unit = np.repeat(np.arange(n), counts)
    ages = rng.uniform(starts[unit], ends[unit])
    found = mean_cumulative(starts, ends, unit, ages, at=[2, 4, 6])
    assert found.mean == pytest.approx([4, 8, 12], rel=0.05)
    forgotten = mean_cumulative(np.zeros(n), ends, unit, ages, at=[2, 4, 6])  # as if watched from the start
    assert abs(forgotten.mean[1] - 8) > 1


@pytest.mark.study
def test_interval_covers_where_units_differ() -> None:
    rng = np.random.default_rng(20)
    covered = wrong = 0
    for _ in range(400):
        rates = rng.gamma(1.0, 3.0, 80)
        counts = rng.poisson(rates)
        unit = np.repeat(np.arange(80), counts)
        found = mean_cumulative(np.zeros(80), np.ones(80), unit, rng.random(len(unit)), at=[1])
        covered += bool(found.low[0] <= 3 <= found.high[0])
        width = np.exp(1.96 / np.sqrt(len(unit)))
        wrong += bool(found.mean[0] / width <= 3 <= found.mean[0] * width)
    assert covered / 400 > 0.91
    assert wrong / 400 < 0.8, "a Poisson interval is far too narrow here"
