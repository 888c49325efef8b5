"""The share of repairs that came back, by days since closing."""

from collections.abc import Sequence

import polars as pl

from analytics.questions.ringing_again import FOLLOWED_DAYS, WaitCurve
from dashboard.figures import look
from dashboard.words import capital

HEIGHT = 340
MOST_LINES = 5
DASHES = ("solid", "dash", "dot", "dashdot", "longdash")
ROOM_FOR_LABELS = 116
MOST_STEPS = 400
LONGEST_NAME = 15


def waits(whole: WaitCurve, groups: Sequence[WaitCurve], window_days: int) -> look.Figure:
    """Draw the curve of all calls with its interval, and of a few groups, each named at its end.

    Parameters
    ----------
    whole : WaitCurve
        All calls.
    groups : sequence of WaitCurve
        Drawn where there are at most `MOST_LINES`: more lines can not be told apart.
    window_days : int
        The window chosen, marked on the curve.

    Returns
    -------
    dict
        A figure for Plotly.js.
    """
    shown = [each for each in groups if each.points.height] if len(groups) <= MOST_LINES else []
    lines = [_line(each, f"rest-{n}", look.REST, DASHES[n]) for n, each in enumerate(shown)]
    data = [*_band(whole), *lines, _line(whole, "ours-line", look.ACCENT, "solid")]
    named = shown or [whole]
    top = 1.08 * max(_highest(whole, "high"), *(_highest(each, "share") for each in shown), 0.0) or 1.0
    mark = look.note(f"{window_days} days", window_days, top, yanchor="top", xanchor="left", xshift=4)
    rule = {"type": "line", "x0": window_days, "x1": window_days, "y0": 0, "y1": 1, "yref": "paper"}
    layout = look.layout(
        HEIGHT,
        annotations=[*_names(named, top), mark],
        shapes=[rule | {"line": {"width": 1, "dash": "dot", "color": look.REST}}],
        xaxis=look.axis(
            title={"text": "days since closing"}, range=[0, FOLLOWED_DAYS], dtick=90, showgrid=False
        ),
        yaxis=look.axis(tickformat=".0%", range=[0, min(1.0, top)], nticks=6),
    )
    layout["margin"] |= {"r": ROOM_FOR_LABELS, "b": 52}
    return {"data": data, "layout": layout}


def _highest(curve: WaitCurve, column: str) -> float:
    values: list[float] = curve.points[column].to_list()
    return max(values, default=0.0)


def _steps(curve: WaitCurve) -> pl.DataFrame:
    """Thin a curve of thousands of steps to as many as a screen can show; from 0 to where it is known."""
    points = curve.points.select("days", "share", "low", "high")
    thin = points.gather_every(max(1, points.height // MOST_STEPS))
    schema = points.schema
    first = pl.DataFrame([(0.0, 0.0, 0.0, 0.0)], schema=schema, orient="row")
    if not points.height:
        return first
    last = points.tail(1)
    return pl.concat([first, thin, last, last.with_columns(days=pl.lit(curve.known_days))])


def _band(whole: WaitCurve) -> list[look.Figure]:
    steps = _steps(whole)
    edge = {
        "x": steps["days"].to_list(),
        "mode": "lines",
        "line": {"width": 0, "shape": "hv"},
        "hoverinfo": "skip",
    }
    return [
        edge | {"y": steps["low"].to_list()},
        edge | {"y": steps["high"].to_list(), "fill": "tonexty", "fillcolor": look.BAND},
    ]


def _line(curve: WaitCurve, uid: str, colour: str, dash: str) -> look.Figure:
    steps = _steps(curve)
    return {
        "uid": uid,
        "x": steps["days"].to_list(),
        "y": steps["share"].to_list(),
        "mode": "lines",
        "line": {
            "width": 2 if uid.startswith("ours") else 1.25,
            "color": colour,
            "dash": dash,
            "shape": "hv",
        },
        "hovertemplate": f"<b>{capital(curve.label)}</b><br>%{{y:.1%}} within %{{x:.0f}} days<extra></extra>",
    }


def _names(curves: Sequence[WaitCurve], top: float) -> list[look.Figure]:
    """Name each line at its end, moved apart where they would lie on each other."""
    drawn = [each for each in curves if each.points.height]
    ends = sorted(((float(each.points["share"][-1]), each) for each in drawn), key=lambda pair: pair[0])
    least, at, notes = 0.07 * top, -1.0, []
    for height, each in ends:
        at = max(height, at + least)
        notes.append(
            look.note(
                _short(capital(each.label)), 1, at, xref="paper", xanchor="left", xshift=4, align="left"
            )
        )
    return notes


def _short(name: str) -> str:
    """Cut a name to the room beside the chart; the table below has it whole."""
    return name if len(name) <= LONGEST_NAME else name[: LONGEST_NAME - 1] + "…"
