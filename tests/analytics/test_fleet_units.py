"""Repeat units by hand: who is at risk when, which calls count, and what is expected of a unit."""

import json
from datetime import date

import numpy as np
import polars as pl
import pytest
import statsmodels.api as sm

from analytics import queries
from analytics.errors import BadQuestion
from analytics.questions.expected_calls import expected_calls
from analytics.questions.repeat_units import course, repeat_units
from analytics.questions.unit_histories import Histories, as_arrays, histories
from tests.analytics.kept_fleets import kept
from tests.analytics.small_fleet import SmallFleet


@kept
def watched() -> SmallFleet:
    """Records begin on 1 January 2026 and end on 31 December."""
    fleet = SmallFleet()
    fleet.unit("OLD", installed_on=date(2024, 1, 1), water_supply="well", shutoff_valve="saddle")
    fleet.unit("NEW", installed_on=date(2026, 4, 1), water_supply="dont_know")
    fleet.unit("GONE", installed_on=date(2025, 1, 1), retired_on=date(2026, 6, 30))
    fleet.unit("QUIET", installed_on=date(2025, 7, 1))
    fleet.unit("SCRAPPED", installed_on=date(2020, 1, 1), retired_on=date(2025, 6, 30))
    fleet.call("1", "OLD", opened="2026-01-01 09:00")
    fleet.call("2", "OLD", opened="2026-03-01 09:00", outcome="cancelled")
    fleet.call("3", "OLD", opened="2026-03-01 13:00", outcome="duplicate")
    fleet.call("4", "OLD", opened="2026-05-01 09:00", outcome="part_on_order")
    fleet.call("5", "OLD", opened="2026-05-08 09:00", complaint="same again")
    fleet.call("6", "NEW", opened="2026-03-31 09:00")
    fleet.call("7", "NEW", opened="2026-04-01 09:00")
    fleet.call("8", "NEW", opened="2026-04-02 09:00", job_kind="maintenance")
    fleet.call("9", "GONE", opened="2026-06-30 09:00")
    fleet.call("10", "GONE", opened="2026-07-01 09:00")
    fleet.call("11", "UNKNOWN", opened="2026-02-01 09:00")
    fleet.ends("2026-12-31 12:00")
    return fleet.build()


def check_histories() -> None:
    fleet = watched()
    rows = queries.frame(fleet.connection.cursor(), "metrics/unit_histories")
    known = {row["unit_id"]: row for row in rows.iter_rows(named=True)}
    assert sorted(known) == ["GONE", "NEW", "OLD", "QUIET", "UNKNOWN"], "one retired before has no watch"
    dates = {unit: (str(row["watched_from"]), str(row["watched_to"])) for unit, row in known.items()}
    assert dates == {
        "OLD": ("2026-01-01", "2026-12-31"),
        "NEW": ("2026-04-01", "2026-12-31"),
        "GONE": ("2026-01-01", "2026-06-30"),
        "QUIET": ("2026-01-01", "2026-12-31"),
        "UNKNOWN": ("2026-01-01", "2026-12-31"),
    }
    assert {unit: len(row["opened_on"]) for unit, row in known.items()} == {
        "OLD": 4 - int(fleet.row("5")["is_return_trip"]), "NEW": 1, "GONE": 1, "QUIET": 0, "UNKNOWN": 1,
    }  # fmt: skip
    assert {unit: row["calls_outside"] for unit, row in known.items() if row["calls_outside"]} == {
        "NEW": 1,
        "GONE": 1,
    }
    assert (known["OLD"]["water_supply"], known["OLD"]["shutoff_valve"]) == ("well", "saddle")
    assert known["NEW"]["water_supply"] is None, "don't know is not known"


def test_histories_by_hand() -> None:
    check_histories()


@pytest.mark.parametrize(
    ("right", "wrong"),
    [
        ("greatest(placed.installed_on, ", "coalesce(placed.installed_on, "),
        ("least(placed.retired_on, ", "least("),
        ("'not_a_repair', 'duplicate'", "'not_a_repair'"),
        ("standing not in ('not_a_repair', 'duplicate') and", ""),
        ("nullif(supplies.code, 'dont_know')", "supplies.code"),
        ("day between watched_from and watched_to)", "day >= watched_from)"),
    ],
)
def test_broken_histories_are_caught(monkeypatch: pytest.MonkeyPatch, right: str, wrong: str) -> None:
    original = queries.statement
    assert right in original("metrics/unit_histories")
    monkeypatch.setattr(queries, "statement", lambda name: original(name).replace(right, wrong))
    with pytest.raises(AssertionError):
        check_histories()


def test_ages_are_counted_from_installation() -> None:
    found = histories(watched().connection.cursor())
    at = found.units["unit_id"].to_list().index("OLD")
    assert (found.starts[at], found.ends[at]) == (731, 731 + 364)
    assert sorted(found.age[found.unit == at].tolist())[0] == 731
    unknown = found.units["unit_id"].to_list().index("UNKNOWN")
    assert not found.aged[unknown]
    assert (found.starts[unknown], found.ends[unknown]) == (0, 364)


def invented(units: int = 3000, seed: int = 5) -> Histories:
    """Units of two families, watched from a random age on; one family rings twice as often."""
    rng = np.random.default_rng(seed)
    family = rng.integers(0, 2, units)
    begun, until = date(2020, 1, 1).toordinal(), date(2024, 12, 31).toordinal()
    installed = rng.integers(begun - 3000, until - 200, units)
    first = np.maximum(installed, begun)
    rate = np.where(family == 1, 0.6, 0.3) / 365.25
    counts = rng.poisson(rate * (until + 1 - first))
    opened = [sorted(rng.integers(f, until + 1, n).tolist()) for f, n in zip(first, counts, strict=True)]
    return as_arrays(
        pl.DataFrame(
            {
                "unit_id": [f"U{n:05d}" for n in range(units)],
                "installed_on": [date.fromordinal(d) for d in installed.tolist()],
                "watched_from": [date.fromordinal(d) for d in first.tolist()],
                "watched_to": [date.fromordinal(until)] * units,
                "product_family": np.where(family == 1, "b", "a").tolist(),
                "water_supply": ["well"] * units,
                "shutoff_valve": pl.Series([None] * units, dtype=pl.String),
                "opened_on": [[date.fromordinal(d) for d in days] for days in opened],
                "calls_outside": [0] * units,
            },
            schema_overrides={"opened_on": pl.List(pl.Date)},
        )
    )


def test_expected_calls_are_those_of_statsmodels() -> None:
    """A Poisson regression with offset on single units; all ages alike, so that the family is enough."""
    found = invented()
    years = (found.ends + 1 - found.starts) / 365.25
    family = (found.units["product_family"] == "b").to_numpy().astype(float)
    fit = sm.GLM(found.calls, sm.add_constant(family), sm.families.Poisson(), offset=np.log(years)).fit()
    ours = expected_calls(found)
    assert ours.sum() == pytest.approx(found.calls.sum(), rel=1e-6)
    for each in (0, 1):
        known = fit.fittedvalues[family == each].sum()
        assert ours[family == each].sum() == pytest.approx(known, rel=0.005)


def test_one_unit_that_rings_ten_times_as_often_is_found_and_no_other() -> None:
    found = invented()
    loud = np.full(40, 17)
    age = np.linspace(found.starts[17], found.ends[17], 40).round()
    louder = Histories(
        found.units, found.starts, found.ends, found.aged,
        np.concatenate([found.unit, loud]), np.concatenate([found.age, age]),
    )  # fmt: skip
    answer = repeat_units(louder, {})
    assert answer.ranked.filter("beyond")["unit_id"].to_list() == ["U00017"]
    assert answer.beyond == 1
    assert repeat_units(found, {}).beyond == 0
    shrunk = answer.ranked.filter(pl.col("unit_id") == "U00017").row(0, named=True)
    assert 1 < shrunk["shrunk"] < shrunk["ratio"]


def test_curve_of_a_known_rate_though_most_units_are_watched_late() -> None:
    found = invented(units=8000)
    curves = {each.group: each for each in repeat_units(found, {}).groups["product_family"]}
    for group, rate in (("a", 0.3), ("b", 0.6)):
        marks = dict(curves[group].marks.select("years", "mean").iter_rows())
        assert marks[5.0] == pytest.approx(5 * rate, rel=0.06)
    assert curves["a"].marks["mean"][3] is not None


def test_curve_ends_where_too_few_are_watched() -> None:
    found = invented(units=150)
    whole = course(found, found.aged, None, "all")
    assert 20 <= whole.points["at_risk"].min() < 40
    assert 0 < whole.to_years < found.ends.max() / 365.25
    assert course(found, found.aged & False, None, "none").points.is_empty()


def test_without_any_installation_years_are_counted_from_the_first_record() -> None:
    fleet = SmallFleet()
    for n in range(25):
        fleet.call(f"C{n}", f"U{n}", opened=f"2026-01-{n + 1:02d} 09:00")
    fleet.ends("2028-03-01 12:00")
    answer = fleet.build().fleet.repeat_units()
    assert (answer.by_age, answer.undated) == (False, 25)
    assert answer.whole.marks["mean"].to_list()[:2] == pytest.approx([1.0, 1.0])


def test_nothing_and_pages_that_are_none() -> None:
    fleet = SmallFleet().build().fleet
    assert (fleet.repeat_units().units, fleet.repeat_units().beyond) == (0, 0)
    assert fleet.repeat_unit_list()[1] == 0
    assert json.dumps(fleet.repeat_units().to_dict("water_supply"))
    with pytest.raises(BadQuestion):
        fleet.repeat_unit_list(-1)
