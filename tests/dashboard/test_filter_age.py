"""The page of filter age: sentence first, both practices drawn, what can not be told, the list by depot."""

from typing import Any
from urllib.parse import quote

import plotly.graph_objects as go
import polars as pl
import pytest

from dashboard.app import draw
from dashboard.figures.filter_age import failure_rates
from dashboard.pages import filter_age
from dashboard.pages.tables import FIGURES, TABLES, Kept
from dashboard.pages.tables_of_filters import FIGURES_OF_FILTERS, TABLES_OF_FILTERS
from tests.dashboard.fake_filters import found
from tests.dashboard.fake_fleet import FakeFleet
from tests.dashboard.reading import links, text


class NoTime(FakeFleet):
    at_risk = False


def shown(search: str = "", fleet: Any = None) -> list:
    return draw(fleet or FakeFleet(), "/filter-age", search)[0]


def test_sentence_comes_first_with_rates_and_ratio() -> None:
    words = text(shown())
    past = found().past_of("all", "6")
    wide = found().course.widened_of("all", "6")
    assert f"; {wide['low']:.2f} to {wide['high']:.2f} allowing for units that fail again and again" in words
    assert f"Past six months, units fail {past['rate_past']:.1f} times per 1,000 unit-months" in words
    assert f"{past['ratio']:.2f}" in words
    assert words.index("Past six months, units fail") < words.index("Units fail most with a filter of")


def test_common_practice_is_named_and_yields_to_the_makers_sheet() -> None:
    drawn = failure_rates(found().of("all"), found().of("all", "called"))
    go.Figure(drawn)
    notes = [note["text"] for note in drawn["layout"]["annotations"]]
    assert notes == ["6 months", "12 months"]
    assert len(drawn["layout"]["shapes"]) == 2
    title = drawn["layout"]["xaxis"]["title"]["text"]
    assert "common practice;<br>the maker's sheet comes first" in title


def test_without_time_at_risk_the_page_says_what_it_can_not_tell() -> None:
    words = text(shown(fleet=NoTime()))
    assert "How often units fail by filter age can not be told" in words
    assert "can not tell how often units fail" in words
    assert "per 1,000 unit-months" not in words.split("How this was counted")[0]


def test_remark_on_diagnoses_stands_with_filter_linked_failures() -> None:
    assert filter_age.INFLUENCED in text(shown("?what=flow_linked"))


def test_changes_that_nobody_recorded_are_said_to_blur_the_ratio() -> None:
    words = text(shown())
    assert "make filters look older than they are and draw the ratio towards 1: on 33" in words


def test_first_failures_and_the_doubled_rate_are_titles() -> None:
    words = text(shown())
    marks = found().course.marks.filter((pl.col("outcome") == "any") & pl.col("months").is_in([6, 12]))
    six, twelve = marks["share"]
    assert f"Of filters just changed, {six:.1%} within 6 months and {twelve:.1%} within 12 months" in words
    assert "All failures: the rate has doubled at" in words
    assert "Too few failures of this kind for a smooth rate" in text(shown("?what=family:leak"))


def test_kinds_of_unit_follow_the_failures_chosen() -> None:
    words = [text(shown(f"?what={what}")) for what in ("all", "flow_linked")]
    ratios = [found().held_equal[what].crude.ratio for what in ("all", "flow_linked")]
    for said, ratio in zip(words, ratios, strict=True):
        assert f"As counted the ratio is {ratio:.2f}" in said


def test_rates_open_the_failures_behind_them() -> None:
    found_links = links(shown("?what=flow_linked"))
    for only in ("began:3-6:flow_linked", "called:18+:flow_linked", "began:past_6:all"):
        assert any(
            f"only={quote(only, safe='')}" in link or f"only={quote(only)}" in link for link in found_links
        )


def test_trends_are_corrected_for_looking_many_times() -> None:
    answer = found()
    for what, chance in answer.trend_chances().items():
        assert chance >= answer.trends["began", what].p
    assert "corrected for looking at 3 kinds of failure" in text(shown())


def test_three_answers_are_three() -> None:
    words = text(shown())
    for answer in ("Never", "Don't know", "Blank"):
        assert answer in words


def test_list_is_paged_by_depot_and_units_open() -> None:
    page = shown("?place=north&page=1")
    assert any("place=north" in link and "table=overdue_filters" in link for link in links(page))
    assert "/unit/U1001" in links(shown())
    assert "declined a change on 2 Mar 2026" in text(shown())
    assert "21 to 23 of 23" in text(shown("?page=3"))


def test_no_calls_is_a_state() -> None:
    assert "No calls fit these choices" in text(shown(fleet=FakeFleet(calls=0)))


@pytest.mark.parametrize("name", TABLES_OF_FILTERS)
@pytest.mark.parametrize("fleet", [FakeFleet(), NoTime()], ids=["time", "none"])
def test_tables_are_kept(name: str, fleet: Any) -> None:
    kept = Kept(fleet)
    frames = list(TABLES[name](fleet, kept.address("?place=north")))
    assert len(frames) == 1
    assert frames[0].width > 3 or (fleet.filter_age().course is None and not frames[0].height)


@pytest.mark.parametrize("name", FIGURES_OF_FILTERS)
def test_chart_is_kept(name: str) -> None:
    go.Figure(FIGURES[name](FakeFleet(), Kept(FakeFleet()).address("?what=flow_linked")))
