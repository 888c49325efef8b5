"""Filter age by hand: the worked example of the documentation, Simpson's paradox, failures alone, the "
"list."""

import json
from argparse import Namespace
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import polars as pl
import pytest
import statsmodels.api as sm

from analytics import fleet as fleet_module
from analytics import queries, store
from analytics.commands import filter_age as command
from analytics.commands.filter_rules import print_intervals, print_rules
from analytics.cost_assumptions import FilterCosts
from analytics.errors import BadQuestion
from analytics.filters import Filters
from analytics.questions import filter_adjusting, filter_failures
from analytics.questions.filter_adjusting import adjusted, kind_factors
from analytics.questions.filter_age import BANDS, FILTER_AGED_BY, PAST, lay_out
from analytics.questions.filter_failures import PAST_SIX, SUBSET, UP_TO_SIX, at_age
from analytics.questions.overdue_filters import expected_failures, of_its_kind
from analytics.statistics.poisson import adjusted_ratios
from tests.analytics.kept_fleets import kept
from tests.analytics.small_fleet import SmallFleet
from tests.dashboard import fake_filters
from tests.outside.program import facade_that_keeps


@kept
def worked() -> SmallFleet:
    """The example of docs/metrics.md, and units that are left out or overdue at the end of July."""
    small = SmallFleet()
    small.unit("ONE", installed_on=date(2026, 1, 1), water_supply="well", depot="North")
    small.unit("RO", installed_on=date(2026, 1, 1), filter_kind="reverse_osmosis")
    small.unit("OLD", installed_on=date(2010, 1, 1), depot="South")
    small.unit("LATE", installed_on=date(2026, 1, 15), depot="South")
    small.unit("GONE", installed_on=date(2026, 1, 15), retired_on=date(2026, 7, 30))
    small.filter_change("2026-07-01", "ONE")
    small.filter_change("2026-07-31", "RO")  # until when changes are recorded
    small.call("1", "OLD", opened="2026-01-01 09:00", filter_last_changed="never")
    small.call(
        "2", "ONE", opened="2026-07-03 09:00", problem_duration="5 days", filter_last_changed="dont_know"
    )
    small.call("3", "OLD", opened="2026-03-01 09:00", filter_last_changed="?when mother came")
    small.call("4", "LATE", opened="2026-04-01 09:00", root_cause="filter_restricted")
    small.call("5", "ONE", opened="2026-07-30 09:00", complaint="leak", filter_last_changed="2026-05-01")
    declined = {"job_kind": "filter_visit", "outcome": "estimate_declined"}
    small.call("6", "LATE", opened="2026-05-01 09:00", **declined)
    small.ends("2026-07-31 12:00")
    return small.build()


def check_example() -> None:
    small = worked()
    cursor = small.connection.cursor()
    lay_out(cursor)
    rows = queries.frame(cursor, "metrics/filter_months").filter(pl.col("water_supply") == "well")
    days = rows.filter(pl.col("measure") == "at_risk").group_by("band").agg(pl.col("number").sum())
    assert dict(days.iter_rows()) == {"first two weeks": 28, "0-3": 93, "3-6": 90}
    by_measure = rows.filter((pl.col("measure") != "at_risk") & (pl.col("what") == "all"))
    assert sorted(by_measure.select("measure", "band").rows()) == [
        ("began", "0-3"),
        ("began", "3-6"),
        ("called", "0-3"),
        ("called", "first two weeks"),
    ]


def test_example_of_the_documentation() -> None:
    check_example()


@pytest.mark.parametrize(
    ("right", "wrong"),
    [
        ("('first two weeks', 1, 15)", "('first two weeks', 1, 1)"),
        ("least(coalesce(told_on, called_on), called_on) as day", "called_on as day"),
        ("spells.known_on + 1, units.first_on) as from_on", "spells.known_on, units.first_on) as from_on"),
    ],
)
def test_a_broken_statement_is_caught(monkeypatch: pytest.MonkeyPatch, right: str, wrong: str) -> None:
    original = queries.statement
    # the day of the change can only be seen where the first band begins with it
    also = {"weeks', 1, 15": "weeks', 0, 15"} if "known_on" in right else {}

    def broken(name: str) -> str:
        text = original(name).replace(right, wrong)
        for sound, other in also.items():
            text = text.replace(sound, other)
        return text

    monkeypatch.setattr(queries, "statement", broken)
    with pytest.raises(AssertionError):
        check_example()


def test_failures_alone_keep_three_answers_apart_and_say_how_told_differs() -> None:
    cases = worked().fleet.filter_age().cases
    assert dict(cases.answers.select("answer", "failures").iter_rows()) == {
        "given": 1, "never": 1, "dont_know": 1, "not_recognised": 1, "blank": 1,
    }  # fmt: skip
    told = {row["told"]: row for row in cases.told.iter_rows(named=True)}
    assert (told["earlier"]["failures"], told["earlier"]["median_days"]) == (1, 61)
    assert told["later"]["failures"] == 0
    assert cases.bands["flow_linked"].sum() == 0, "of an age that nobody told"


def test_units_left_out_are_counted() -> None:
    found = worked().fleet.filter_age()
    assert found.left_out["units: no filter, bypass or reverse osmosis"] == 1
    assert found.left_out["units: age of the filter never known"] == 1
    assert found.left_out["began: outside the time at risk"] == 2


def test_overdue_list_leaves_out_the_retired_the_changed_and_those_without_a_filter() -> None:
    small = worked()
    rows, total = small.fleet.overdue_filters()
    assert (rows["unit_id"].to_list(), total) == (["LATE"], 1)
    row = rows.row(0, named=True)
    assert (row["age_days"], row["changed"], row["calls_in_a_year"]) == (197, False, 1)
    assert row["declined_on"] == date(2026, 5, 1)
    assert small.fleet.overdue_filters("North")[1] == 0
    assert small.fleet.overdue_by_depot().select("depot", "units").rows() == [("South", 1)]
    with pytest.raises(BadQuestion, match="can not be shown"):
        small.fleet.overdue_filters(limit=10_001)


def test_design_effect_by_hand() -> None:
    """Two units of equal time fail 3 times and once: (1 + 1) / 4."""
    small = SmallFleet()
    for unit, days in (("A", ("02-01", "03-15", "05-01")), ("B", ("04-01",))):
        small.unit(unit, installed_on=date(2026, 1, 1))
        for day in days:
            small.call(f"{unit}{day}", unit, opened=f"2026-{day} 09:00")
    small.call("first", "C", opened="2026-01-01 09:00")
    small.ends("2026-06-30 12:00")
    assert small.build().fleet.filter_age().design_effect == pytest.approx(0.5)


def test_expected_failures_add_up_day_by_day() -> None:
    rates = [70.0, 50, 60, 80, 75, 65, 40]
    edges = [15, 91.3125, 182.625, 273.9375, 365.25, 547.875]
    for age in (0, 1, 14, 15, 91, 92, 183, 200, 300, 547, 900):
        by_day = sum(
            rates[int(np.searchsorted(edges, day, side="right"))] for day in range(age + 1, age + 91)
        )
        assert expected_failures([age], rates)[0] == pytest.approx(by_day / 1000 / 30.4375)


def simpson() -> pl.DataFrame:
    """Old filters sit in homes with town water, where units fail seldom; in each kind of home they fail "
    "more."""
    rows = [
        ("0-3", "well", 100, 1000.0),
        ("18+", "well", 24, 200.0),
        ("0-3", "town", 4, 200.0),
        ("18+", "town", 30, 1000.0),
    ]
    frame = pl.DataFrame(rows, schema=["band", "water_supply", "failures", "months"], orient="row")
    return frame.with_columns(
        shutoff_valve=pl.lit(None, dtype=pl.String), product_family=pl.lit("p"), unit_age=pl.lit("0 to 1")
    )


def check_simpson() -> None:
    found = adjusted(simpson(), FILTER_AGED_BY, BANDS, PAST["6"])
    assert found.crude.ratio == pytest.approx((54 / 1200) / (104 / 1200))
    above, below = 24 * 1000 / 1200 + 30 * 200 / 1200, 100 * 200 / 1200 + 4 * 1000 / 1200
    assert found.common.ratio == pytest.approx(above / below)
    assert found.turned
    assert dict(found.within.select("by", "turned").iter_rows()) == {
        "water_supply": True, "shutoff_valve": False, "product_family": False, "unit_age": False,
    }  # fmt: skip


def test_simpsons_paradox_is_flagged() -> None:
    check_simpson()


@pytest.mark.parametrize(
    ("name", "wrong"),
    [("turned", lambda crude, common: False), ("mantel_haenszel_rates", lambda counts, time: None)],
)
def test_paradox_overlooked_is_caught(name: str, wrong: Callable, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(filter_adjusting, name, wrong)
    with pytest.raises((AssertionError, AttributeError)):
        check_simpson()


def test_kinds_of_unit_raise_what_is_expected() -> None:
    """Wells fail three times as often at every age: factors stand three to one, and come to 1 on average."""
    rows = [
        (band, supply, int(times * rate * months), months)
        for band, rate in (("0-3", 0.05), ("18+", 0.1))
        for supply, times, months in (("well", 3, 1000.0), ("town_water", 1, 3000.0), (None, 1, 200.0))
    ]
    cells = pl.DataFrame(rows, schema=["band", "water_supply", "failures", "months"], orient="row")
    factors = kind_factors(cells, ["water_supply"])
    units = pl.DataFrame(
        {"water_supply": ["well", "town_water", None], "unit_age_days": [400, 400, None]},
    )
    found = of_its_kind(units, factors)
    assert found[0] / found[1] == pytest.approx(3, rel=1e-6)
    due = cells.with_columns(rate=pl.col("failures").sum().over("band") / pl.col("months").sum().over("band"))
    times = of_its_kind(due.with_columns(unit_age_days=pl.lit(None, dtype=pl.Int64)), factors)
    expected = (due["months"] * due["rate"]).to_numpy()
    assert (expected * times).sum() == pytest.approx(cells["failures"].sum())
    # the broken twin: age alone takes a well for a house in town
    assert np.ptp(found) > 1


def test_rare_kinds_have_no_factor_of_their_own() -> None:
    rows = [("0-3", "well", 200, 1000.0), ("0-3", "tank", 19, 10.0), ("18+", "well", 200, 1000.0)]
    cells = pl.DataFrame(rows, schema=["band", "water_supply", "failures", "months"], orient="row")
    assert "tank" not in kind_factors(cells, ["water_supply"])["group"].to_list()


def test_regression_is_that_of_statsmodels() -> None:
    rng = np.random.default_rng(3)
    asked = np.eye(4)[rng.integers(0, 4, 60)][:, 1:]
    beside = np.eye(3)[rng.integers(0, 3, 60)][:, 1:]
    time = rng.uniform(50, 400, 60)
    counts = rng.poisson(time * 0.05 * np.exp(asked @ [0.1, 0.4, 0.7] + beside @ [0.5, -0.3]))
    design = sm.add_constant(np.hstack([asked, beside]))
    told = sm.GLM(counts, design, family=sm.families.Poisson(), offset=np.log(time)).fit(scale="X2")
    plain = sm.GLM(counts, design, family=sm.families.Poisson(), offset=np.log(time)).fit()
    limits = (told if told.scale > 1 else plain).conf_int()[1:4]
    found = adjusted_ratios(counts, time, asked, np.hstack([beside, beside]))
    assert [each.ratio for each in found] == pytest.approx(np.exp(told.params[1:4]), rel=1e-6)
    assert [[each.low, each.high] for each in found] == [
        pytest.approx(row, rel=1e-5) for row in np.exp(limits)
    ]


@pytest.fixture
def built(monkeypatch: pytest.MonkeyPatch) -> None:
    small = worked()
    monkeypatch.setattr(store, "Store", lambda _: small)
    monkeypatch.setattr(fleet_module, "Fleet", lambda _: small.fleet)


def run(**options: object) -> None:
    given = {"data": Path(), "by": None, "depot": None, "limit": 10, "json": False} | options
    command.run(Namespace(**given))


@pytest.mark.usefixtures("built")
def test_command_in_words_and_as_json(capsys: pytest.CaptureFixture[str]) -> None:
    run(by="water_supply")
    words = capsys.readouterr().out
    assert "per 1,000 unit-months" in words
    assert "LATE" in words
    run(json=True, by="unit_age")
    found = json.loads(capsys.readouterr().out)
    assert {"bands", "past", "adjusted", "groups", "cases", "overdue", "list"} <= found.keys()
    assert {"rules", "ratios", "costs", "units_now"} <= found["policies"].keys()
    assert found["policies"]["rules"][0]["failures_avoided"] is None, "of a handful of units nothing is said"
    assert found["intervals"][0]["field"] == "all"
    assert "NaN" not in json.dumps(found)


def test_other_rules_and_best_intervals_in_words(capsys: pytest.CaptureFixture[str]) -> None:
    print_rules(fake_filters.policies(FilterCosts.usual()))
    print_intervals(fake_filters.intervals(FilterCosts.usual()))
    words = capsys.readouterr().out
    for said in (
        "supposes that old filters cause",
        "every 6 months",
        "at visits when over 12",
        "E-value",
        "none pays",
    ):
        assert said in words


@pytest.mark.usefixtures("built")
@pytest.mark.parametrize("options", [{"depot": "Nowhere"}, {"limit": -1}, {"filter_cost": "much"}])
def test_what_can_not_be_listed_is_said(options: dict) -> None:
    with pytest.raises(BadQuestion):
        run(**options)


def test_a_fleet_without_units_or_changes_has_no_time_at_risk(capsys: pytest.CaptureFixture[str]) -> None:
    small = SmallFleet()
    small.call("1", filter_last_changed="8 months")
    small.ends("2026-12-31 12:00")
    found = small.build().fleet.filter_age()
    assert not found.has_time
    assert found.cases.bands["failures"].sum() == 1
    command.print_filter_age(found, found.overdue, 0, None)
    assert "failures alone are counted" in capsys.readouterr().out


def check_behind(fleet: Any) -> None:
    found = fleet.filter_age()
    for row in found.bands.filter(pl.col("failures") > 0).iter_rows(named=True):
        only = at_age(row["band"], row["what"], row["measure"])
        assert fleet.calls(Filters(), SUBSET, only=only)[1] == row["failures"], only
    past = found.past_of("all", "6")
    for span, count in ((UP_TO_SIX, past["failures_young"]), (PAST_SIX, past["failures_past"])):
        assert fleet.calls(Filters(), SUBSET, only=at_age(span))[1] == count


def test_every_rate_opens_its_failures() -> None:
    small = worked()
    check_behind(facade_that_keeps(small.connection))
    rows, total = small.fleet.calls(Filters(), SUBSET, only=at_age("3-6"))
    assert (rows["call_id"].to_list(), total) == (["2"], 1)


def test_a_span_that_is_off_by_a_day_is_caught(monkeypatch: pytest.MonkeyPatch) -> None:
    shifted = {name: (first - 14, after - 14) for name, (first, after) in filter_failures.SPANS.items()}
    monkeypatch.setattr(filter_failures, "SPANS", shifted)
    with pytest.raises(AssertionError):
        check_behind(facade_that_keeps(worked().connection))


@pytest.mark.parametrize("only", ["began:3-6", "began:3-7:all", "rung:3-6:all", "x"])
def test_failures_that_are_none_are_refused(only: str) -> None:
    with pytest.raises(BadQuestion, match="names no failures"):
        worked().fleet.calls(Filters(), SUBSET, only=only)
