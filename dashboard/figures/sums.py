"""Two sums that climb when more, or fewer, come back than expected, with the heights that chance reaches."""

import polars as pl

from analytics.questions.changes import Watched
from dashboard.figures import look
from dashboard.words import day

HEIGHT = 320
ROOM_FOR_LABELS = 76
NAMES = {"more": "more than expected", "fewer": "fewer than expected"}
SIDES = {"more": 1, "fewer": -1}
MOST_NAMED = 6


def sums(watched: Watched) -> look.Figure:
    """Draw the sum that climbs when more come back upwards, the other downwards from the same zero.

    Parameters
    ----------
    watched : Watched

    Returns
    -------
    dict
        A figure for Plotly.js.
    """
    days = [moment.date() for moment in watched.path["closed_at"]]
    limits = {"more": watched.limit_more, "fewer": watched.limit_fewer}
    lines = [_line(days, watched.path[name] * side, name) for name, side in SIDES.items()]
    highest = max(*watched.path["more"], *watched.path["fewer"], *limits.values())
    rules = [_rule(limits[name] * side, "dash") for name, side in SIDES.items()]
    notes = [
        look.note(
            f"{name}<br>(limit)",
            1,
            limits[name] * side,
            xref="paper",
            xanchor="left",
            xshift=4,
            align="left",
        )
        for name, side in SIDES.items()
    ]
    layout = look.layout(
        HEIGHT,
        annotations=[*notes, *_named(watched)],
        shapes=[*rules, _rule(0, "solid")],
        xaxis=look.axis(showgrid=False, tickformat="%b<br>%Y", nticks=6, tickangle=0, type="date"),
        yaxis=look.axis(range=[-1.12 * highest, 1.12 * highest], showticklabels=False, showgrid=False),
    )
    layout["margin"] |= {"r": ROOM_FOR_LABELS, "l": 12}
    return {"data": [*lines, _crossings(watched, limits)], "layout": layout}


def _line(days: list[object], heights: pl.Series, name: str) -> look.Figure:
    return {
        "uid": f"ours-{name}",
        "x": days,
        "y": heights.round(3).to_list(),
        "mode": "lines",
        "line": {"width": 1.5, "color": look.ACCENT, "shape": "hv"},
        "hovertemplate": f"%{{x|%d %b %Y}}<br>{NAMES[name]}: %{{y:.2f}}<extra></extra>",
    }


def _rule(height: float, dash: str) -> look.Figure:
    rule = {"type": "line", "xref": "paper", "x0": 0, "x1": 1, "y0": height, "y1": height}
    return rule | {"line": {"width": 1, "dash": dash, "color": look.REST}}


def _crossings(watched: Watched, limits: dict[str, float]) -> look.Figure:
    rows = watched.signals.select("direction", "crossed").rows()
    return {
        "uid": "flag-crossed",
        "x": [crossed for _, crossed in rows],
        "y": [round(limits[name] * SIDES[name], 3) for name, _ in rows],
        "mode": "markers",
        "marker": {"symbol": "diamond", "size": 10, "color": look.FLAG},
        "text": [f"{NAMES[name]}: limit passed on {day(crossed)}" for name, crossed in rows],
        "hovertemplate": "%{text}<extra></extra>",
    }


def _named(watched: Watched) -> list[look.Figure]:
    """Name the latest crossings, on the side where there is room."""
    limits = {"more": watched.limit_more, "fewer": -watched.limit_fewer}
    path = watched.path["closed_at"]
    if path.is_empty():
        return []
    late = path[path.len() * 3 // 4].date()
    return [
        look.note(
            day(crossed),
            crossed,
            limits[name],
            yshift=12 * SIDES[name],
            **({"xanchor": "right", "xshift": -6} if crossed > late else {"xanchor": "left", "xshift": 6}),
        )
        for name, crossed in watched.signals.tail(MOST_NAMED).select("direction", "crossed").rows()
    ]
