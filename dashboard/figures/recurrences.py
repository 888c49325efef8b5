"""Repair calls a unit, by the age of the units."""

from collections.abc import Sequence

from analytics.questions.repeat_units import CallCourse
from dashboard.figures import look
from dashboard.words import as_words, capital

HEIGHT = 340
MOST_LINES = 6
MOST_YEARS = 15
DASHES = ("solid", "dash", "dot", "dashdot", "longdash", "longdashdot")
ROOM_FOR_LABELS = 124
LONGEST_NAME = 16


def recurrences(whole: CallCourse, groups: Sequence[CallCourse], since: str) -> look.Figure:
    """Draw calls a unit of all units with their interval, and of a few groups, each named at its end.

    Parameters
    ----------
    whole : CallCourse
        All units.
    groups : sequence of CallCourse
        Drawn where there are at most `MOST_LINES`: more lines can not be told apart.
    since : str
        What the years are counted from, for the axis.

    Returns
    -------
    dict
        A figure for Plotly.js.
    """
    few = groups if len(groups) <= MOST_LINES else ()
    shown = [each for each in few if each.points.height and each.group is not None]
    drawn = [whole, *shown]
    last = min(
        MOST_YEARS,
        max((float(each.points["years"][-1]) for each in drawn if each.points.height), default=1.0),
    )
    lines = [_line(each, last, look.REST, DASHES[n]) for n, each in enumerate(shown)]
    data = [*_band(whole, last), *lines, _line(whole, last, look.ACCENT, "solid")]
    tops = [value for trace in data for value in trace["y"]]
    top = 1.06 * max(tops, default=0.0) or 1.0
    layout = look.layout(
        HEIGHT,
        annotations=_names(drawn, last, top),
        xaxis=look.axis(title={"text": since}, range=[0, last], dtick=1 if last <= 6 else 3, showgrid=False),
        yaxis=look.axis(title={"text": "calls a unit"}, range=[0, top], nticks=6),
    )
    layout["margin"] |= {"r": ROOM_FOR_LABELS, "b": 52, "l": 52}
    return {"data": data, "layout": layout}


def _within(course: CallCourse, last: float, column: str) -> list[float]:
    values: list[float] = course.points.filter(course.points["years"] <= last)[column].to_list()
    return values


def _band(whole: CallCourse, last: float) -> list[look.Figure]:
    edge = {
        "x": _within(whole, last, "years"),
        "mode": "lines",
        "line": {"width": 0},
        "hoverinfo": "skip",
    }
    return [
        edge | {"y": _within(whole, last, "low")},
        edge | {"y": _within(whole, last, "high"), "fill": "tonexty", "fillcolor": look.BAND},
    ]


def _line(course: CallCourse, last: float, colour: str, dash: str) -> look.Figure:
    whole = colour == look.ACCENT
    name = capital(as_words(course.group or "", course.label))
    return {
        "uid": "ours-line" if whole else f"rest-{course.group}",
        "x": _within(course, last, "years"),
        "y": _within(course, last, "mean"),
        "mode": "lines",
        "line": {"width": 2 if whole else 1.25, "color": colour, "dash": dash},
        "hovertemplate": f"<b>{name}</b><br>%{{y:.2f}} calls a unit by %{{x:.1f}} years<extra></extra>",
    }


def _names(courses: Sequence[CallCourse], last: float, top: float) -> list[look.Figure]:
    """Name each line at its end, moved apart where the names would lie on each other."""
    ends = [(values[-1], each) for each in courses if (values := _within(each, last, "mean"))]
    ends.sort(key=lambda pair: -pair[0])
    notes: list[look.Figure] = []
    least, at = 0.075 * top, top
    for left, (height, each) in zip(range(len(ends) - 1, -1, -1), ends, strict=True):
        # no higher than the name before leaves room for, no lower than those to come need
        at = max(min(height, at - least if notes else height), left * least)
        name = capital(as_words(each.group or "", each.label))
        short = name if len(name) <= LONGEST_NAME else name[: LONGEST_NAME - 1] + "…"
        notes.append(look.note(short, 1, at, xref="paper", xanchor="left", xshift=4, align="left"))
    return notes
