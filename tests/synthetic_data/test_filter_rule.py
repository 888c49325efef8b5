"""A rule of changing filters is followed, and none leaves the fleet as it was."""

import numpy as np
import pytest

from synthetic_data import calendar
from synthetic_data.filters import FilterRule
from synthetic_data.generate import UNTIL
from synthetic_data.simulation import History, simulate

END = calendar.day_number(UNTIL) + 1.0


def history(rule: FilterRule | None) -> History:
    return simulate(200, 4, END, 60, rule)


def ages_at_change(found: History) -> np.ndarray:
    """Days from each change to the next of the same unit."""
    unit, day = (found.ledger.peek("filter_changes", name) for name in ("unit", "day"))
    order = np.lexsort((day, unit))
    same = np.diff(unit[order]) == 0
    return np.diff(day[order])[same]


def test_planned_filters_never_get_older_than_planned() -> None:
    gaps = ages_at_change(history(FilterRule(planned_days=182)))
    assert gaps.max() <= 183
    assert (gaps >= 181).mean() > 0.5
    assert ages_at_change(history(None)).max() > 400, "without a rule they do"


def test_filters_are_changed_on_visits_when_old() -> None:
    often, never, none = (
        history(rule).ledger.count("filter_changes")
        for rule in (FilterRule(at_visit_days=91), FilterRule(at_visit_days=100_000), FilterRule())
    )
    assert often > never == none


def test_a_rule_of_too_few_days_says_so() -> None:
    with pytest.raises(ValueError, match="only from 31 days on"):
        FilterRule(planned_days=7)
