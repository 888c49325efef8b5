"""Figures are plain dictionaries; plotly.py itself checks here that Plotly.js will take each of them."""

from dataclasses import replace
from datetime import date

import plotly.graph_objects as go
import polars as pl
import pytest

from dashboard.figures.funnel import funnel
from dashboard.figures.groups import bars, intervals
from dashboard.figures.months import by_month
from dashboard.figures.waits import MOST_LINES, waits
from tests.dashboard.fake_comparing import comparison
from tests.dashboard.fake_frames import month_frame, wait_curve

WHOLE = wait_curve(None, "all calls", 4480)


def target(first: date) -> str:
    return f"/calls?from={first:%Y-%m}"


GROUPS = pl.DataFrame(
    {
        "label": ["North", "South"],
        "value": [0.07, None],
        "low": [0.06, None],
        "high": [0.08, None],
        "note": ["7", "0"],
    }
)


@pytest.mark.parametrize(
    "figure",
    [
        by_month(month_frame(), target),
        by_month(month_frame(1, strange=0, young=0), target),
        by_month(month_frame().clear(), target),
        funnel(comparison("depot"), named=True),
        funnel(comparison("technician"), named=False),
        funnel(comparison("depot", calls=0), named=True),
        intervals(GROUPS, 0.07),
        intervals(GROUPS.clear()),
        waits(WHOLE, [], 30),
        waits(WHOLE, [wait_curve("north", "North", 900), wait_curve(None, "not recorded", 40)], 30),
        waits(replace(WHOLE, points=WHOLE.points.clear()), [], 30),
        bars(pl.DataFrame({"label": ["Part"], "value": [512], "note": ["512"]})),
    ],
)
def test_figure_is_what_plotly_takes(figure: dict) -> None:
    go.Figure(figure)
    assert figure["layout"]["height"] > 0


def test_plotly_would_refuse_a_wrong_figure() -> None:
    with pytest.raises(ValueError, match="height"):
        go.Figure({"data": [], "layout": {"height": "tall"}})


def test_few_curves_are_drawn_and_named_and_many_are_left_to_the_table() -> None:
    few = [wait_curve(name, name, 900) for name in "abcde"[:MOST_LINES]]
    names = [each["text"] for each in waits(WHOLE, few, 30)["layout"]["annotations"]]
    assert names == [*"ABCDE", "30 days"]
    many = [*few, wait_curve("f", "f", 900)]
    names = [each["text"] for each in waits(WHOLE, many, 30)["layout"]["annotations"]]
    assert names == ["All calls", "30 days"]


def dots(figure: dict, symbol: str) -> list:
    return [
        x for trace in figure["data"] if trace.get("marker", {}).get("symbol") == symbol for x in trace["x"]
    ]


def test_month_outside_is_a_diamond_with_its_name_and_young_months_are_hollow() -> None:
    months = month_frame(months=30, strange=17, young=2)
    figure = by_month(months, target)
    assert dots(figure, "diamond") == [date(2025, 6, 1)]
    assert dots(figure, "circle-open") == [date(2026, 5, 1)], "the last month has no call to judge, so no dot"
    assert len(dots(figure, "circle")) == 27
    notes = [note["text"] for note in figure["layout"]["annotations"]]
    assert "Jun 2025" in notes
    assert "too soon<br>to say" in notes


def test_every_dot_carries_the_address_of_its_calls() -> None:
    figure = by_month(month_frame(), target)
    for trace in figure["data"]:
        if trace.get("customdata"):
            assert trace["customdata"] == [target(each) for each in trace["x"]]


def test_text_of_a_dot_says_rate_counts_and_interval() -> None:
    figure = by_month(month_frame(strange=17), target)
    diamond = next(trace for trace in figure["data"] if trace.get("marker", {}).get("symbol") == "diamond")
    assert "Jun 2025" in diamond["text"][0]
    assert "95% interval" in diamond["text"][0]
    assert " of " in diamond["text"][0]


def test_group_without_a_rate_is_not_drawn() -> None:
    assert intervals(GROUPS)["data"][0]["y"] == ["North"]
