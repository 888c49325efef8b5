"""The page of repeat units: beyond chance or not, page by page, with its step and what to mind before it."""

from itertools import pairwise
from typing import Any

import plotly.graph_objects as go
import pytest

from dashboard.app import draw
from dashboard.figures.recurrences import recurrences
from tests.dashboard.fake_fleet import FakeFleet
from tests.dashboard.fake_units import course
from tests.dashboard.reading import links, text


class NoneBeyond(FakeFleet):
    beyond = 0


def shown(search: str = "", fleet: Any = None) -> list:
    return draw(fleet or FakeFleet(), "/repeat-units", search)[0]


def test_units_beyond_chance_are_said_with_step_and_caution() -> None:
    words = text(shown())
    assert "1 of 1,000 units rings more often than its like, beyond chance" in words
    assert "Measure household pressure before another fill tube." in words
    assert "For 9 calls within 14 months: fill tube frozen" in words
    assert "Unplug the unit" in words, "a step of class b brings its caution"


def test_none_beyond_chance_is_an_answer() -> None:
    words = text(shown(fleet=NoneBeyond()))
    assert "None of 1,000 units rings more often" in words
    assert "No unit beyond chance" in words
    assert "0 of 1,000" not in words


def test_list_is_paged_and_each_unit_opens_its_page() -> None:
    first, last = shown(), shown("?page=3&by=water_supply")
    assert "1 to 10 of 23" in text(first)
    assert "21 to 23 of 23" in text(last)
    assert "/unit/U1000" in links(first)
    assert "/unit/U1022" in links(last)
    assert any("by=water_supply" in link and "page=2" in link for link in links(last))


def test_no_calls_is_a_state() -> None:
    assert "No calls fit these choices" in text(shown(fleet=FakeFleet(calls=0)))


def test_ages_not_known_are_said_and_not_shown_as_nothing() -> None:
    words = text(shown())
    assert "not yet known" in words
    assert "nan" not in words


@pytest.mark.parametrize("groups", [0, 3, 9])
def test_chart_is_one_that_plotly_takes_and_names_keep_apart(groups: int) -> None:
    lines = [course(f"g{n}", f"group {n}", 100, 0.7 + 0.001 * n) for n in range(groups)]
    figure = recurrences(course(None, "all units", 900), lines, "years since installation")
    go.Figure(figure)
    heights = sorted(each["y"] for each in figure["layout"]["annotations"])
    top = figure["layout"]["yaxis"]["range"][1]
    assert all(b - a > 0.07 * top for a, b in pairwise(heights))
    assert all(0 <= each <= top for each in heights)
    assert len(figure["data"]) == 3 + (groups if groups <= 6 else 0)
