"""A slice of the study of other rules: one small fleet, and that a rule not followed is caught."""

from dataclasses import dataclass

import pytest

from synthetic_data.filters import FilterRule
from synthetic_data.simulation import History
from tests.studies.what_if import (
    HEADING,
    JUDGED,
    MEASURED,
    PAGE,
    RULES,
    Said,
    Truth,
    every_change_recorded,
    history_of,
    put,
    said_of,
    truth_of,
)

SEED, CALLS = 1, 2000


@dataclass(frozen=True)
class Slice:
    """Histories under no rule and under one; truth and answer of a third, better recorded."""

    plain: History
    ruled: History
    recorded: Truth
    said: Said


@pytest.fixture(scope="module")
def found() -> Slice:
    plain, ruled = (history_of(SEED, CALLS, rule) for rule in (FilterRule(), RULES[JUDGED]))
    with every_change_recorded():
        known = history_of(SEED, CALLS, FilterRule())
        return Slice(plain, ruled, truth_of(known), said_of(known, SEED, CALLS))


def check(plain: Truth, ruled: Truth, said: Said) -> None:
    """The rule avoids failures, and the interval of what is said does not lie wholly above what is true."""
    avoided = plain.rate - ruled.rate
    assert avoided > 50
    assert said.low[JUDGED] < avoided


def test_a_change_every_six_months_avoids_failures_in_truth_and_as_said(found: Slice) -> None:
    check(truth_of(found.plain), truth_of(found.ruled), found.said)
    assert found.said.high[JUDGED] > 0


def test_a_rule_that_nobody_follows_is_caught(found: Slice) -> None:
    assert found.recorded == truth_of(found.plain), "what the office knows changes nothing that happens"
    with pytest.raises(AssertionError):
        check(truth_of(found.plain), found.recorded, found.said)


def test_places_and_water_are_those_of_no_rule_and_filters_are_changed_more(found: Slice) -> None:
    for name in ("depot", "supply", "use", "line", "patience"):
        assert (getattr(found.plain.places, name) == getattr(found.ruled.places, name)).all()
    changes = [each.ledger.count("filter_changes") for each in (found.plain, found.ruled)]
    assert changes[1] > 1.2 * changes[0]


def test_results_replace_earlier_ones_and_nothing_else() -> None:
    page = PAGE.read_text(encoding="utf-8")
    again = put(page + "\n# Another study\n", f"{MEASURED}today.\n")
    assert again.startswith(page.partition(HEADING)[0] + HEADING)
    assert "Where it still differs" in again
    assert again.count(MEASURED.strip()) == page.count(MEASURED.strip())
    following = page.partition(HEADING)[2].partition("\n# ")[2]
    assert again.endswith(f"{MEASURED}today.\n\n# {following}\n# Another study\n")
