"""Filters from their change on, and their time at risk, against lifelines on plainly built spells."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import numpy as np
import pytest
from lifelines import KaplanMeierFitter
from lifelines.utils import survival_table_from_events

from analytics import queries
from analytics.questions.filter_age import lay_out
from analytics.statistics.life_table import at_risk, daily_hazard, still_free
from tests.analytics.small_fleet import SmallFleet
from tests.outside.test_filter_time_against_loops import END, FIRST, LAST_CHANGE, invented

DAYS = 2000
Spell = tuple[int, int, int | None]


def spells(units: list[dict[str, Any]]) -> list[Spell]:
    """Return ages on the first and last day at risk of each filter, and at its first failure."""
    found: list[Spell] = []
    for unit in units:
        if unit["none"]:
            continue
        known = set(unit["known"])
        if unit["installed"] and unit["installed"] >= FIRST:
            known.add(unit["installed"])
        last = min(day for day in (unit["retired"], END, LAST_CHANGE) if day)
        dates = sorted(known)
        for at, changed in enumerate(dates):
            first_on = max(changed + timedelta(1), FIRST)
            last_on = min(dates[at + 1] if at + 1 < len(dates) else last, last)
            if first_on > last_on:
                continue
            began = [opened - timedelta(ago) for opened, ago in first_calls(unit)]
            ages = [(day - changed).days for day in began if first_on <= day <= last_on]
            found.append(((first_on - changed).days, (last_on - changed).days, min(ages, default=None)))
    return found


def first_calls(unit: dict[str, Any]) -> list[tuple[Any, int]]:
    """Return the calls that are no callback: opened more than 30 days after the one before."""
    kept, before = [], None
    for opened, ago in unit["calls"]:
        if before is None or (opened - before).days > 30:
            kept.append((opened, ago))
        before = opened
    return kept


@pytest.fixture(scope="module")
def fleets() -> list[tuple[SmallFleet, list[Spell]]]:
    return [(fleet, spells(units)) for fleet, units in (invented(seed) for seed in (1, 2, 3))]


def counts_of(fleet: SmallFleet) -> dict[str, np.ndarray]:
    cursor = fleet.connection.cursor()
    lay_out(cursor)
    rows = queries.frame(cursor, "metrics/filter_course")
    found = {name: np.zeros(DAYS) for name in ("entering", "leaving", "first", "unfailed")}
    for measure, _, _, age, number in rows.iter_rows():
        if measure in found:
            found[measure][age] += number
    return found


def check(fleets: list[tuple[SmallFleet, list[Spell]]]) -> None:
    for fleet, known in fleets:
        counts = counts_of(fleet)
        entry = [first - 1 for first, _, _ in known]
        ends = [last if failed is None else failed for _, last, failed in known]
        failed = [each is not None for *_, each in known]
        assert sum(failed) > 5
        fitter = KaplanMeierFitter().fit(ends, failed, entry=entry)
        n = at_risk(counts["entering"], counts["unfailed"] + counts["first"])
        free = still_free(daily_hazard(counts["first"], n))
        told = fitter.survival_function_at_times(range(DAYS)).to_numpy()
        # lifelines stops where everybody at risk has failed, though others enter later
        until = int(np.argmax((n > 0) & (counts["first"] == n))) or DAYS
        assert free[:until] == pytest.approx(
            fitter.survival_function_at_times(range(DAYS)).to_numpy()[:until]
        )
        # time at risk: of all failures a filter is watched on, so that nobody leaves by failing
        table = survival_table_from_events(
            [last for _, last, _ in known], [0] * len(known), birth_times=entry
        )
        watched = at_risk(counts["entering"], counts["leaving"])
        days = sum(last - first + 1 for first, last, _ in known)
        assert watched.sum() == days
        for age, told in table["at_risk"].items():
            if age > 0:  # at_risk counts those who enter at an age only from the next row on
                entered = table["entrance"].get(age, 0)
                assert watched[int(age)] == told - entered


def test_curve_and_time_at_risk_are_those_of_lifelines(fleets) -> None:
    check(fleets)


@pytest.mark.parametrize(
    ("right", "wrong"),
    [
        ("(from_on - known_on)::integer as from_days", "(from_on - known_on + 1)::integer as from_days"),
        ("(to_on - known_on)::integer as to_days", "(to_on - known_on - 1)::integer as to_days"),
        ("min(age_days) as age_days", "max(age_days) as age_days"),
        ("anti join firsts", "semi join firsts"),
    ],
)
def test_broken_statements_are_caught(
    fleets, monkeypatch: pytest.MonkeyPatch, right: str, wrong: str
) -> None:
    original: Callable[[str], str] = queries.statement
    assert right in original("metrics/filter_course")
    monkeypatch.setattr(queries, "statement", lambda name: original(name).replace(right, wrong))
    with pytest.raises(AssertionError):
        check(fleets)
