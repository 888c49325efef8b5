"""Other rules of changing filters against a loop over units and days, and broken on purpose.

The loop knows nothing of spells or rounds: each day it asks how old the filter is as recorded, and how old
it would be under the rule.
"""

import random
from collections import Counter
from datetime import date, timedelta

import polars as pl
import pytest

from analytics import queries
from analytics.questions.filter_age import lay_out
from tests.analytics.small_fleet import SmallFleet

FIRST, LAST = date(2024, 1, 1), date(2026, 6, 30)
DAYS = {3: 91, 6: 182, 9: 273, 12: 365}
FAILED = ("failures", "callbacks", "told_failures", "told_callbacks")
EDGES = (14, 91, 182, 273, 365, 547)
ONE = timedelta(days=1)


class Loop:
    """Invented units, their changes and visits; and what comes of them day by day."""

    def __init__(self, seed: int) -> None:
        rng = random.Random(seed)
        self.installed: dict[str, date] = {}
        self.changes: dict[str, set[date]] = {}
        self.visits: dict[str, set[date]] = {}
        span = (LAST - FIRST).days
        for at in range(25):
            unit = f"U{at}"
            self.installed[unit] = FIRST + timedelta(days=rng.randrange(-400, 300))
            self.visits[unit] = {FIRST + timedelta(days=rng.randrange(span)) for _ in range(rng.randrange(5))}
            own = {FIRST + timedelta(days=rng.randrange(span)) for _ in range(rng.randrange(4))}
            there = {day for day in sorted(self.visits[unit]) if rng.random() < 0.3}
            self.changes[unit] = own | there

    def small(self) -> SmallFleet:
        small = SmallFleet()
        small.call("first", "NOBODY", opened=f"{FIRST} 09:00")
        small.filter_change(str(LAST), "NOBODY")
        for unit, installed in self.installed.items():
            small.unit(unit, installed_on=installed)
            for day in sorted(self.changes[unit]):
                small.filter_change(str(day), unit)
            for day in sorted(self.visits[unit]):
                small.call(f"{unit} {day}", unit, opened=f"{day} 08:00", job_kind="maintenance")
                small.visit(f"{unit} {day}", f"{unit} {day}", arrived=f"{day} 10:00")
        small.ends(f"{LAST} 23:00")
        return small.build()

    def expected(self) -> dict[tuple[str, int | None, int | None], int]:
        found: Counter = Counter()
        for unit, installed in self.installed.items():
            known = sorted(self.changes[unit] | ({installed} if installed >= FIRST else set()))
            if not known:
                continue
            day = max(known[0] + ONE, FIRST)
            planned = dict.fromkeys(DAYS, known[0])
            at_visit = dict.fromkeys(DAYS, known[0])
            while day <= LAST:
                eve = day - ONE
                if eve in known:
                    at_visit = dict.fromkeys(DAYS, eve)
                    if eve in self.visits[unit] or eve == known[0] or eve not in self.changes[unit]:
                        planned = dict.fromkeys(DAYS, eve)
                if eve in self.changes[unit]:
                    found["changes", None, None] += 1
                    found["own_changes", None, None] += eve not in self.visits[unit]
                recorded = max(change for change in known if change < day)
                was = (day - recorded).days
                found["at_risk", None, band(was)] += 1
                for months, days in DAYS.items():
                    if (eve - planned[months]).days == days:
                        planned[months] = eve
                        found["planned_changes", months, None] += 1
                    found["planned", months, band((day - planned[months]).days)] += 1
                    older = (eve - at_visit[months]).days > days
                    if eve in self.visits[unit] and eve not in known and older:
                        at_visit[months] = eve
                        found["at_visit_changes", months, None] += 1
                    found["at_visit", months, band((day - at_visit[months]).days)] += 1
                    found["at_visit", months, band(was)] -= 1
                day += ONE
        return {key: number for key, number in found.items() if number}


def band(age: int) -> int:
    return sum(age > edge for edge in EDGES)


def counted(small: SmallFleet) -> dict[tuple[str, int | None, int | None], int]:
    cursor = small.connection.cursor()
    lay_out(cursor)
    queries.run(cursor, "metrics/filter_policy_time", {"groups": 2**62})
    cells = queries.frame(cursor, "metrics/filter_policies")
    rows = cells.filter(~pl.col("measure").is_in(["units_now", *FAILED]))
    summed = rows.group_by("measure", "months", "band").agg(pl.col("number").sum())
    return {(measure, months, at): number for measure, months, at, number in summed.iter_rows() if number}


Told = tuple[SmallFleet, dict[tuple[str, int | None, int | None], int]]


@pytest.fixture(scope="module")
def told() -> list[Told]:
    loops = [Loop(seed) for seed in range(2)]
    return [(loop.small(), loop.expected()) for loop in loops]


def test_time_and_changes_under_each_rule_are_those_of_the_loop(told: list[Told]) -> None:
    for small, expected in told:
        assert counted(small) == expected


def test_recorded_days_are_kept_by_every_plan(told: list[Told]) -> None:
    found = counted(told[0][0])
    at_risk = sum(number for (measure, _, _), number in found.items() if measure == "at_risk")
    for months in DAYS:
        assert sum(n for (m, at, _), n in found.items() if (m, at) == ("planned", months)) == at_risk
        assert sum(n for (m, at, _), n in found.items() if (m, at) == ("at_visit", months)) == 0


TWINS = {
    "rule shifted by one band": ("metrics/filter_policies", "(3, 91), (6, 182)", "(3, 182), (6, 273)"),
    "first two weeks ignored": ("metrics/filter_policies", "(0, 1, 14), (1, 15, 91)", "(1, 1, 91)"),
    "a plan leaves the changes that customers make": (
        "metrics/filter_policy_time", "if(is_anchor, known_on, null)", "known_on"
    ),
    "a plan forgets the changes made at visits": (
        "metrics/filter_policy_time", "is not null\n        or not spells.changed", "is null"
    ),
    "every visit brings a filter": (
        "metrics/filter_policy_time", "age[1] - changed[-1] > older_than.days", "age[1] > older_than.days"
    ),
    "the day of the visit has the new filter": (
        "metrics/filter_policies", "turns.changed_at + 1) as from_age", "turns.changed_at) as from_age"
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", TWINS)
def test_a_broken_statement_is_caught(monkeypatch: pytest.MonkeyPatch, told: list[Told], name: str) -> None:
    where, sound, wrong = TWINS[name]
    original = queries.statement
    assert sound in original(where), "mend the twin"

    def broken(asked: str) -> str:
        return original(asked).replace(sound, wrong) if asked == where else original(asked)

    monkeypatch.setattr(queries, "statement", broken)
    assert any(counted(small) != expected for small, expected in told)
