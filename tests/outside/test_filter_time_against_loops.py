"""Time at risk and failures by the age of the filter, against a plain loop over every day of every unit."""

from collections import Counter
from datetime import date, timedelta
from random import Random
from typing import Any

import polars as pl
import pytest

from analytics import queries
from analytics.questions.filter_age import lay_out
from tests.analytics.small_fleet import SmallFleet

FIRST, END, LAST_CHANGE = date(2024, 1, 1), date(2026, 6, 30), date(2026, 6, 10)
EDGES = [
    (15, "first two weeks"), (91.3125, "0-3"), (182.625, "3-6"), (273.9375, "6-9"), (365.25, "9-12"),
    (547.875, "12-18"),
]  # fmt: skip
UNITS = 40


def band(age_days: int) -> str:
    return next((name for below, name in EDGES if age_days < below), "18+")


def some_day(rng: Random, first: date, last: date) -> date:
    return first + timedelta(rng.randrange((last - first).days + 1))


def invented(seed: int) -> tuple[SmallFleet, list[dict[str, Any]]]:
    """Units of all kinds; the first rings on the first day of the records and has the last change."""
    rng, fleet, units, numbers = Random(seed), SmallFleet(), [], iter(range(10_000))
    for n in range(UNITS):
        kind = rng.choice(["in_unit", "in_unit", "in_line", None, "bypass_or_none"]) if n else "in_unit"
        supply = rng.choice(["town_water", "well", "reverse_osmosis", "dont_know"]) if n else "well"
        installed = rng.choice([None, some_day(rng, date(2019, 1, 1), END)])
        retired = rng.choice([None, None, some_day(rng, date(2025, 1, 1), END)]) if n else None
        changes = {some_day(rng, date(2022, 6, 1), LAST_CHANGE) for _ in range(rng.randrange(4))}
        changes |= {LAST_CHANGE} if not n else set()
        called = sorted(
            {some_day(rng, FIRST, END) for _ in range(rng.randrange(6))} | ({FIRST} if not n else set())
        )
        unit = {
            "installed": installed,
            "retired": retired,
            "known": set(changes),
            "calls": [],
            "supply": supply,
        }
        unit["none"] = kind == "bypass_or_none" or supply == "reverse_osmosis"
        columns = {"filter_kind": kind, "water_supply": supply}
        fleet.unit(f"U{n}", installed_on=installed, retired_on=retired, **columns)
        for day in changes:
            fleet.filter_change(str(day), f"U{n}")
        for day in called:
            lasted = rng.choice([None, 0, 3, 40])
            call = f"C{next(numbers)}"
            told = None if lasted is None else f"{lasted} days"
            fleet.call(call, f"U{n}", opened=f"{day} 09:00", problem_duration=told)
            fleet.visit(f"V{call}", call, arrived=f"{day} 10:00")
            if rng.random() < 0.3:
                fleet.part("water_filter", visit_id=f"V{call}")
                unit["known"].add(day)
            unit["calls"].append((day, lasted or 0))
        units.append(unit)
    fleet.ends(f"{END} 18:00")
    return fleet.build(), units


def looped(units: list[dict[str, Any]]) -> Counter:
    """Count unit-days and failures day by day."""
    found: Counter = Counter()
    for unit in units:
        if unit["none"]:
            found["left_out", "units: no filter, bypass or reverse osmosis"] += 1
            continue
        known = set(unit["known"])
        if unit["installed"] and unit["installed"] >= FIRST:
            known.add(unit["installed"])
        last = min(day for day in (unit["retired"], END, LAST_CHANGE) if day)
        first_calls = [
            (day, lasted)
            for at, (day, lasted) in enumerate(unit["calls"])
            if not at or (day - unit["calls"][at - 1][0]).days > 30
        ]
        day = FIRST
        while day <= last:
            before = [each for each in known if each < day]
            if before:
                name = band((day - max(before)).days)
                found["at_risk", name] += 1
                found["called", name] += sum(opened == day for opened, _ in first_calls)
                found["began", name] += sum(opened - timedelta(ago) == day for opened, ago in first_calls)
            day += timedelta(1)
    return +found


def asked(fleet: SmallFleet) -> Counter:
    cursor = fleet.connection.cursor()
    lay_out(cursor)
    rows = queries.frame(cursor, "metrics/filter_months").filter(pl.col("what") == "all")
    summed = rows.filter(pl.col("measure") != "units").group_by("measure", "band").agg(pl.col("number").sum())
    found = Counter({(measure, name): number for measure, name, number in summed.iter_rows()})
    return +found


@pytest.fixture(scope="module")
def fleets() -> list[tuple[SmallFleet, list[dict[str, Any]]]]:
    return [invented(seed) for seed in (1, 2, 3)]


def check(fleets: list[tuple[SmallFleet, list[dict[str, Any]]]]) -> None:
    for fleet, units in fleets:
        told = Counter({key: n for key, n in looped(units).items() if key[0] != "left_out"})
        assert asked(fleet) == told
        assert sum(n for (measure, _), n in told.items() if measure == "began") > 5


def test_every_day_and_failure_as_by_hand(fleets) -> None:
    check(fleets)


def test_units_without_a_filter_are_counted(fleets) -> None:
    fleet, units = fleets[0]
    cursor = fleet.connection.cursor()
    lay_out(cursor)
    rows = queries.frame(cursor, "metrics/filter_months").filter(pl.col("measure") == "left_out")
    what = "units: no filter, bypass or reverse osmosis"
    assert dict(rows.select("what", "number").iter_rows())[what] == looped(units)["left_out", what]


@pytest.mark.parametrize(
    ("right", "wrong"),
    [
        ("('first two weeks', 1, 15), ('0-3', 15, 92)", "('first two weeks', 1, 1), ('0-3', 1, 92)"),
        ("least(units.retired_on, units.ends_on, ", "least(units.ends_on, "),
        ("units.ends_on, units.recording_ends_on)", "units.ends_on)"),
        ("greatest(spells.known_on + 1, units.first_on)", "greatest(spells.known_on, units.first_on)"),
        (
            "over (partition by unit order by known_on), date",
            "over (partition by unit order by known_on) - 1, date",
        ),
        ("units.installed_on >= units.first_on, false)", "units.installed_on is not null, false)"),
        ("and parts.is_filter", "and not parts.is_filter"),
        ("coalesce(kinds.code in ('bypass_or_none', 'reverse_osmosis'), false)", "false"),
        ("or coalesce(list_contains(supplies.codes, 'reverse_osmosis'), false)", "or false"),
        ("and (calls.episode_id is null or calls.episode_id = calls.call_id)", ""),
        ("least(coalesce(told_on, called_on), called_on) as day", "called_on as day"),
        ("('6-9', 183, 274)", "('6-9', 183, 275)"),
    ],
)
def test_broken_statements_are_caught(
    fleets, monkeypatch: pytest.MonkeyPatch, right: str, wrong: str
) -> None:
    original = queries.statement
    assert right in "".join(original(f"metrics/filter_{name}") for name in ("time", "failures", "months"))
    of_the_day = {right: wrong} | ({"weeks', 1, 15": "weeks', 0, 15"} if "known_on +" in right else {})

    def broken(name: str) -> str:
        text = original(name)
        for sound, other in of_the_day.items():
            text = text.replace(sound, other)
        return text

    monkeypatch.setattr(queries, "statement", broken)
    with pytest.raises(AssertionError):
        check(fleets)
