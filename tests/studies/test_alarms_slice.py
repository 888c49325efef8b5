"""A slice of the study of the list of groups worth a look, and rules that are wrong and are caught."""

import numpy as np

from analytics.questions.worth_a_look import BUDGET, SHARES, Counts, stands_out
from analytics.statistics.standardised import more_than
from tests.studies.alarms import FALSE_WEEKS, POOR, first_listed, weeks_with_alarm
from tests.studies.alike import Plan

QUARTER = Plan(weeks=13)
SEEDS = range(8)


def share_of_weeks(rule=stands_out, plan=QUARTER):
    return np.mean([weeks_with_alarm(seed, plan, rule) for seed in SEEDS])


def test_budget_is_split_whole():
    assert sum(SHARES.values()) == 1


def test_few_weeks_have_an_alarm_where_nobody_differs():
    """A slice has no power against 5%: fleets are few and their weeks alike; it is held to thrice that."""
    assert share_of_weeks() < 3 * FALSE_WEEKS


def without_regard_to_the_number_of_looks(tested: Counts, share: float) -> np.ndarray:
    return (tested.calls >= 20) & (more_than(tested.came_back, tested.expected) < 0.05)


def test_a_rule_that_forgets_how_often_it_looks_is_caught():
    assert share_of_weeks(without_regard_to_the_number_of_looks) > 3 * FALSE_WEEKS


def without_clustering(tested: Counts, share: float) -> np.ndarray:
    return stands_out(tested._replace(dispersion=1.0), share)


def test_a_rule_that_takes_calls_for_independent_has_more_alarms():
    wild = Plan(weeks=13, units=250, unit_spread=1.8)
    assert share_of_weeks(without_clustering, wild) > share_of_weeks(stands_out, wild)


def test_poor_technician_is_found_and_a_rule_that_never_lists_is_caught():
    found = [first_listed(seed, POOR) for seed in range(4)]
    assert sum(each.calls is not None for each in found) >= 3
    never = [first_listed(0, POOR, lambda tested, share: np.zeros(len(tested.calls), dtype=bool))]
    assert [each.calls for each in never] == [None]


def test_group_with_fewer_than_20_calls_is_not_tested():
    tested = Counts(np.array([19, 400]), np.array([19, 40]), np.array([1.0, 40.0]), 1.0, 4000)
    assert stands_out(tested, 1.0).tolist() == [False, False]
    assert BUDGET < FALSE_WEEKS
