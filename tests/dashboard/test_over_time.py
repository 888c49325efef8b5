"""The page on the course of the rate: what it says of a change, of recent months, of people."""

from dataclasses import replace
from datetime import date

import plotly.graph_objects as go
import pytest

from analytics.filters import Filters
from analytics.questions.changes import OverTime
from dashboard.app import draw
from dashboard.components.changing import change_in_words, sums_finding
from dashboard.components.trend import month_exhibit
from dashboard.figures.months import by_month
from dashboard.figures.sums import sums
from dashboard.pages.over_time import MOST_WEEKS
from dashboard.pages.tables import Kept
from tests.dashboard.fake_fleet import FakeFleet
from tests.dashboard.fake_time import change, followed_months, watched, week_frame
from tests.dashboard.reading import links, text


def shown(search: str = "", fleet: FakeFleet | None = None) -> list:
    return draw(fleet or FakeFleet(), "/over-time", search)[0]


def test_a_change_is_dated_with_its_uncertainty() -> None:
    words = text(shown())
    assert "rose between 3 Mar 2026 and 20 Apr 2026, most likely on 28 Mar 2026" in words
    assert "7.1%" in words
    assert "11.0%" in words
    assert "Chance of so large a difference without any change: below 0.01" in words


def test_numbers_before_and_after_lead_to_calls_on_either_side() -> None:
    judged = [link for link in links(shown()) if "subset=judged" in link]
    assert any("to=2026-03-27" in link for link in judged)
    assert any("from=2026-03-28" in link for link in judged)


def test_no_change_is_a_state_in_words() -> None:
    class Steady(FakeFleet):
        def over_time(self, filters: Filters) -> OverTime:
            steady = {"change": change(p=0.4), "watched": watched(signal=False)}
            return replace(super().over_time(filters), **steady)

    words = text(shown(fleet=Steady()))
    assert "No change beyond chance since 4 Jan 2024: 8.0% came back" in words
    assert "rose" not in words.split("How this was counted")[0]
    assert "At no time more or fewer returns than chance would give" in words


def test_a_fall_is_said_to_fall() -> None:
    found = FakeFleet().over_time(Filters())
    fell = replace(change(), ratio_before=1.6, ratio_after=0.9)
    assert "fell between" in str(change_in_words(Filters(), replace(found, change=fell)))


def test_estimated_month_is_hollow_and_unknown_month_has_no_dot() -> None:
    months = followed_months()
    figure = by_month(months, str)
    go.Figure(figure)
    hollow = [each for each in figure["data"] if each.get("marker", {}).get("symbol") == "circle-open"]
    assert [each["x"] for each in hollow] == [[date(2026, 5, 1)]]
    assert hollow[0]["y"] == [0.08]
    assert "estimate from 160 calls" in hollow[0]["text"][0]
    drawn = [x for each in figure["data"] for x in each["x"]]
    assert date(2026, 6, 1) not in drawn
    assert "not yet<br>known" in [note["text"] for note in figure["layout"]["annotations"]]
    words = text(month_exhibit(Filters(), months))
    assert "8.0% estimate" in words
    assert "not yet known" in words


def test_weeks_are_named_by_their_monday_and_many_are_left_to_the_file() -> None:
    words = text(shown("?each=week"))
    assert "Week of 22 Jun 2026" in words
    assert f"{130 - MOST_WEEKS} earlier weeks in the CSV" in words
    assert any("from=2026-06-22&to=2026-06-28" in link for link in links(shown("?each=week")))
    go.Figure(by_month(week_frame(), str, period="week"))


def test_sums_are_drawn_with_limits_and_crossing() -> None:
    figure = sums(watched())
    go.Figure(figure)
    assert [each["x"] for each in figure["data"] if each["uid"] == "flag-crossed"] == [[date(2026, 4, 11)]]
    assert min(figure["data"][1]["y"]) == -0.5
    assert sums_finding(watched()) == "More than expected, since 2 Jan 2026 and still"
    go.Figure(sums(watched(signal=False)))


def test_without_a_group_the_first_year_is_named_and_with_one_the_others() -> None:
    assert "the rate of their own first year: 7.1% (71 of 1,000" in text(shown())
    words = text(shown("?depot=north"))
    assert "expect from the calls of others" in words
    assert "Odds against expected" in words


def test_about_people_stands_first_and_few_calls_are_not_watched() -> None:
    words = text(shown("?technician=T01"))
    assert words.index("can not say who works well") < words.index("rose between")
    words = text(shown("?technician=T01", FakeFleet(calls=19)))
    assert "Fewer than 20 calls can be judged: too few to watch" in words
    assert "too few calls to look for a change" in words


@pytest.mark.parametrize("name", ["over_time", "watched"])
def test_files_and_pictures_are_kept(name: str) -> None:
    kept = Kept(FakeFleet())  # type: ignore[arg-type]
    address = kept.address("?each=week&technician=T01")
    assert next(iter(kept.table(name, address))).height >= 130
    assert kept.opening(address)
    go.Figure(kept.figure(name, address))
