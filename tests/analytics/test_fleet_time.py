"""The course of the rate from a store: weeks, estimates of recent months, sums and dated changes."""

from collections.abc import Callable
from datetime import date, datetime, timedelta

import numpy as np
import polars as pl
import pytest
from polars.testing import assert_frame_equal

from analytics import fleet_time, queries
from analytics.errors import BadQuestion
from analytics.filters import Filters
from analytics.questions import followed
from analytics.questions.followed import month_estimates
from analytics.questions.over_time import against_first_year, against_others, chosen_group
from analytics.questions.selecting import ground, selection
from tests.analytics.kept_fleets import kept
from tests.analytics.small_fleet import SmallFleet
from tests.analytics.test_fleet_comparing import some_calls


def repair(fleet: SmallFleet, call: str, unit: str, day: str, **more: str) -> None:
    fleet.call(call, unit, opened=f"{day} 09:00", closed=f"{day} 12:00", **more)


def test_weeks_begin_on_monday_and_count_what_months_count() -> None:
    fleet = SmallFleet()
    for call, unit, day in (
        ("A", "U1", "2026-01-04"),  # a Sunday
        ("B", "U2", "2026-01-05"),
        ("C", "U2", "2026-01-11"),  # B's return, on the Sunday
        ("D", "U3", "2026-03-01"),  # too young
    ):
        repair(fleet, call, unit, day)
    fleet.ends("2026-03-20 12:00")
    weeks = fleet.build().fleet.rates_over_time(Filters(), "week")
    columns = ("week", "numerator", "denominator", "inside_window")
    assert weeks.select(columns).rows() == [
        (date(2025, 12, 29), 0, 1, 0),
        (date(2026, 1, 5), 1, 2, 0),
        (date(2026, 2, 23), 0, 0, 1),
    ]
    with pytest.raises(BadQuestion, match="Choose one of month, week"):
        fleet.fleet.rates_over_time(Filters(), "day")


@pytest.mark.parametrize("match", ["family", "any"])
def test_months_are_those_of_the_other_pages(match: str) -> None:
    fleet = some_calls().fleet
    filters = Filters(window_days=90, match=match)
    ours = fleet.rates_over_time(filters)
    theirs = fleet.by_month(filters)
    assert ours["denominator"].sum() > 100
    assert_frame_equal(ours.select(theirs.columns), theirs)


def test_months_of_all_pages_have_the_same_estimates() -> None:
    fleet = some_calls().fleet
    filters = Filters(as_of=fleet.by_month(Filters())["month"][-2])
    ours, theirs = fleet.rates_over_time(filters), fleet.by_month(filters)
    assert theirs["inside_window"].sum() > 0
    assert theirs["followed"].sum() > 0
    assert_frame_equal(ours, theirs)


@kept
def half_followed() -> SmallFleet:
    """March 2026, seen until the 11th of April: A and B were followed for 30 days, C for 20, D came back."""
    fleet = SmallFleet()
    repair(fleet, "A", "U1", "2026-03-02")
    repair(fleet, "B", "U2", "2026-03-04")
    repair(fleet, "C", "U3", "2026-03-22")
    fleet.call("D", "U4", opened="2026-03-20 09:00", closed="2026-03-20 12:00")
    fleet.call("E", "U4", opened="2026-04-04 12:00", closed=None)
    fleet.ends("2026-04-11 12:00")
    return fleet.build()


def check_the_estimate() -> None:
    """By hand: after 15 days 1 of the 4 that waited came back; nothing after it: 1/4. Judged: 0 of 2."""
    (march,) = half_followed().fleet.rates_over_time(Filters()).to_dicts()
    assert (march["numerator"], march["denominator"], march["inside_window"]) == (0, 2, 2)
    assert march["estimate"] == pytest.approx(0.25)
    assert march["estimate_low"] < 0.25 < march["estimate_high"]
    assert march["followed"] == 4


def test_month_too_young_to_judge_is_estimated(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(followed, "LEAST_FOLLOWED", 1)
    check_the_estimate()


def test_an_estimate_of_the_calls_judged_alone_is_caught(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(followed, "LEAST_FOLLOWED", 1)
    original = queries.statement
    right, wrong = "where completed", "where judged"
    assert right in original("metrics/ringing_again")
    monkeypatch.setattr(queries, "statement", lambda name: original(name).replace(right, wrong))
    with pytest.raises(AssertionError):
        check_the_estimate()


def test_month_of_which_hardly_a_call_was_followed_is_not_yet_known() -> None:
    (march,) = half_followed().fleet.rates_over_time(Filters()).to_dicts()
    assert march["estimate"] is None
    earlier = half_followed().fleet.rates_over_time(Filters(as_of=date(2026, 3, 25))).to_dicts()
    assert [row["estimate"] for row in earlier] == [None]


@pytest.mark.parametrize("window", [7, 30, 90])
def test_with_nothing_censored_before_the_window_the_estimate_is_the_rate(
    monkeypatch: pytest.MonkeyPatch, window: int
) -> None:
    monkeypatch.setattr(followed, "LEAST_FOLLOWED", 1)
    fleet = some_calls()
    filters = Filters(window_days=window, closed_to=date(2025, 10, 20))
    chosen = selection(fleet.connection, ground(fleet.connection), filters)
    months = fleet.fleet.by_month(filters)
    assert months["inside_window"].sum() == 0
    firsts = [first.isoformat() for first in months["month"]]
    estimates = month_estimates(fleet.connection, chosen, firsts, 1.0).sort("month")
    assert estimates["followed"].to_list() == months["denominator"].to_list()
    assert estimates["estimate"].to_list() == pytest.approx(months["rate"].to_list())
    assert months["numerator"].sum() > 0


def rows(calls: int, odds_after: float, at: int, seed: int = 4) -> pl.DataFrame:
    """Calls as from `expected_returns`, two a day, whose odds change after `at` of them."""
    generator = np.random.default_rng(seed)
    expected = generator.choice([0.05, 0.1, 0.2], calls)
    odds = expected / (1 - expected) * np.where(np.arange(calls) < at, 1, odds_after)
    closed = [datetime(2025, 1, 1, 9) + timedelta(hours=12 * n) for n in range(calls)]
    return pl.DataFrame(
        {
            "call_id": [f"C{n}" for n in range(calls)],
            "closed_at": closed,
            "unit_hash": list(range(calls)),
            "came_back": generator.random(calls) < odds / (1 + odds),
            "expected": expected,
        },
        schema_overrides={"closed_at": pl.Datetime("us")},
    )


def test_group_that_gets_worse_is_signalled_and_dated() -> None:
    frame = rows(1200, odds_after=2.5, at=600)
    found = against_others(("depot", "north"), frame, 1.0)
    changed = frame["closed_at"][600].date()
    assert found.watched is not None
    assert found.change is not None
    signal = found.watched.signals.row(0, named=True)
    assert signal["direction"] == "more"
    assert changed - timedelta(days=60) < signal["began"] <= signal["crossed"]
    assert changed < signal["crossed"] < changed + timedelta(days=90)
    assert signal["ended"] is None
    assert found.change.beyond_chance
    assert found.change.first <= changed <= found.change.last
    assert found.change.ratio_before < 1.4 < 1.9 < found.change.ratio_after
    before, after = found.change.before, found.change.after
    assert before.denominator + after.denominator == found.watched.calls == 1200
    assert before.numerator + after.numerator == frame["came_back"].sum() == found.watched.came_back
    assert found.watched.expected == pytest.approx(frame["expected"].sum())
    assert before.denominator == (frame["closed_at"].dt.date() < found.change.on).sum()


def test_steady_group_is_neither_signalled_nor_dated() -> None:
    found = against_others(("depot", "north"), rows(1200, odds_after=1.0, at=600), 1.0)
    assert found.watched is not None
    assert found.change is not None
    assert found.watched.signals.is_empty()
    assert not found.change.beyond_chance


def test_fewer_than_twenty_calls_are_not_watched() -> None:
    few = against_others(("technician", "T1"), rows(19, odds_after=1.0, at=9), 1.0)
    assert (few.watched, few.change) == (None, None)
    assert against_others(("technician", "T1"), rows(20, odds_after=1.0, at=9), 1.0).watched is not None
    nobody = against_others(("technician", "T1"), rows(0, odds_after=1.0, at=0), 1.0)
    assert (nobody.rate.denominator, nobody.since, nobody.watched) == (0, None, None)


def days_at(rate: Callable[[int], float], days: int, a_day: int = 10, seed: int = 2) -> pl.DataFrame:
    generator = np.random.default_rng(seed)
    counts = generator.binomial(a_day, [rate(day) for day in range(days)])
    first = date(2024, 1, 1)
    return pl.DataFrame(
        {
            "day": [first + timedelta(days=n) for n in range(days)],
            "judged": [a_day] * days,
            "came_back": counts,
            "young": [0] * days,
        },
        schema={"day": pl.Date, "judged": pl.Int64, "came_back": pl.Int64, "young": pl.Int64},
    )


def test_without_a_group_calls_are_held_against_their_first_year() -> None:
    days = days_at(lambda day: 0.1 if day < 600 else 0.05, 800)
    found = against_first_year(days, 1.0)
    assert found.first_year is not None
    assert found.watched is not None
    assert found.change is not None
    assert found.first_year.denominator == 3650
    assert found.first_year.numerator == days["came_back"][:365].sum()
    assert found.watched.calls == 10 * (800 - 365)
    assert found.watched.path["closed_at"][0] == datetime(2024, 12, 31)
    assert found.watched.signals["direction"].to_list() == ["fewer"]
    assert found.change.first <= date(2024, 1, 1) + timedelta(days=600) <= found.change.last
    assert found.change.ratio_after < found.change.ratio_before


def test_without_a_year_before_it_nothing_is_watched() -> None:
    assert against_first_year(days_at(lambda _: 0.1, 300), 1.0).watched is None
    none = against_first_year(days_at(lambda _: 0.1, 0), 1.0)
    assert (none.watched, none.change, none.since) == (None, None, None)


def test_the_one_group_chosen() -> None:
    assert chosen_group(Filters()) is None
    assert chosen_group(Filters(depots=("north", "south"), causes=("x",))) is None
    assert chosen_group(Filters(depots=("",))) is None
    assert chosen_group(Filters(depots=("north",), parts=("valve",))) == ("depot", "north")
    assert chosen_group(Filters(technicians=("T1",), depots=("north",))) == ("technician", "T1")


def test_a_depot_of_a_store_is_watched_against_the_others(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fleet_time, "LEAST_OTHERS", 50)
    fleet = some_calls().fleet
    filters = Filters(window_days=90, depots=("north",))
    found = fleet.over_time(filters)
    judged = fleet.figures(filters).callback_rate
    assert found.group == ("depot", "north")
    assert found.watched is not None
    assert (found.watched.came_back, found.watched.calls) == (judged.numerator, judged.denominator)
    assert found.watched.path["calls"][-1] == judged.denominator
    assert found.to_dict()["watched"]["path"][-1]["calls"] == judged.denominator


def test_where_the_others_are_too_few_calls_are_held_against_their_own_first_year() -> None:
    found = some_calls().fleet.over_time(Filters(window_days=90, depots=("north",)))
    assert found.group is None
