"""How filters fare from their change on: first failures by age, and the rate as a smooth curve."""

from typing import Any

import polars as pl

from dashboard.figures import look
from dashboard.figures.filter_age import SOURCE

HEIGHT = 360
PRACTICE_MONTHS = (6, 12)
DAYS_A_MONTH = 30.4375
ROOM_FOR_LABELS = 108
LEAST_BETWEEN_LABELS = 0.08
OUTCOMES = {
    "any": ("any failure", look.ACCENT, "solid"),
    "flow_linked": ("filter-linked", look.FLAG, "solid"),
    "other_cause": ("another cause", look.REST, "dash"),
    "unknown_cause": ("not known", look.REST, "dot"),
}


def first_failures(curves: pl.DataFrame) -> look.Figure:
    """Draw the share of filters with a first failure by age, and what it turned out to be.

    Parameters
    ----------
    curves : DataFrame
        As `FilterCourse.curves`.

    Returns
    -------
    dict
        A figure for Plotly.js.
    """
    ours = curves.filter(pl.col("outcome") == "any")
    top = min(1.0, 1.08 * float(ours["high"].max() or 0.0)) or 1.0  # type: ignore[arg-type]
    lines = [_line(curves, outcome, name, colour, dash) for outcome, (name, colour, dash) in OUTCOMES.items()]
    layout = _layout(ours, [0, top], "filters with a first failure")
    layout["yaxis"]["tickformat"] = ".0%"
    layout["annotations"] += _names(curves, top)
    layout["margin"] |= {"r": ROOM_FOR_LABELS}
    return {"data": [*_band(ours), *lines], "layout": layout}


def smooth_rate(rates: pl.DataFrame, doubled_days: float | None, young: float | None) -> look.Figure:
    """Draw the rate of failures by age of the filter as a smooth curve with its interval.

    Parameters
    ----------
    rates : DataFrame
        Of one kind of failure: columns age_days, rate, low, high.
    doubled_days : float or None
        Where the rate is twice that of young filters: marked.
    young : float or None
        Rate of young filters: a line at twice that.

    Returns
    -------
    dict
        A figure for Plotly.js.
    """
    highest = max(float(rates["high"].max() or 0.0), 2.1 * (young or 0.0))  # type: ignore[arg-type]
    line = {
        "x": _months(rates),
        "y": rates["rate"].to_list(),
        "mode": "lines",
        "line": {"color": look.ACCENT, "width": 2},
        "hovertemplate": "%{x:.1f} months: %{y:.1f} per 1,000 unit-months<extra></extra>",
    }
    layout = _layout(rates, [0, 1.1 * highest or 1.0], "failures per 1,000 unit-months")
    data = [*_band(rates), line]
    if young is not None:
        layout["shapes"].append(_rule(2 * young, across=True))
        layout["annotations"].append(
            look.note("twice the rate of 0–3 months", 1, 2 * young, xref="paper", xanchor="right", yshift=9)
        )
    if doubled_days is not None and young is not None:
        mark = {"color": look.ACCENT, "size": 11, "symbol": "diamond"}
        at = doubled_days / DAYS_A_MONTH
        data.append({"x": [at], "y": [2 * young], "mode": "markers", "marker": mark, "hoverinfo": "skip"})
    return {"data": data, "layout": layout}


def _layout(rows: pl.DataFrame, span: list[float], title: str) -> dict[str, Any]:
    last = max(_months(rows), default=12.0)
    shown = [months for months in PRACTICE_MONTHS if months <= last]
    notes = [
        look.note(str(months), months, 1, yref="paper", yanchor="top", xanchor="left", xshift=4)
        for months in shown
    ]
    layout = look.layout(
        HEIGHT,
        annotations=notes,
        shapes=[_rule(months) for months in shown],
        xaxis=look.axis(
            title={"text": f"months since the change<br>{SOURCE}"},
            range=[0, last],
            dtick=6,
            tickangle=0,
            showgrid=False,
        ),
        yaxis=look.axis(title={"text": title}, range=span, nticks=6),
    )
    layout["margin"] |= {"b": 92, "l": 56}
    return layout


def _rule(at: float, across: bool = False) -> dict[str, Any]:
    ends = {"x0": 0, "x1": 1, "xref": "paper", "y0": at, "y1": at}
    if not across:
        ends = {"x0": at, "x1": at, "y0": 0, "y1": 1, "yref": "paper"}
    dash = "dot" if across else "dash"
    return {"type": "line", **ends, "line": {"color": look.REST, "width": 1, "dash": dash}}


def _months(rows: pl.DataFrame) -> list[float]:
    return (rows["age_days"] / DAYS_A_MONTH).to_list()


def _band(rows: pl.DataFrame) -> list[look.Figure]:
    edge = {"x": _months(rows), "mode": "lines", "line": {"width": 0}, "hoverinfo": "skip"}
    return [
        edge | {"y": rows["low"].to_list()},
        edge | {"y": rows["high"].to_list(), "fill": "tonexty", "fillcolor": look.BAND},
    ]


def _line(curves: pl.DataFrame, outcome: str, name: str, colour: str, dash: str) -> look.Figure:
    rows = curves.filter(pl.col("outcome") == outcome)
    return {
        "x": _months(rows),
        "y": rows["share"].to_list(),
        "mode": "lines",
        "line": {"color": colour, "width": 2 if dash == "solid" else 1.25, "dash": dash},
        "hovertemplate": f"<b>{name}</b><br>%{{y:.1%}} within %{{x:.1f}} months<extra></extra>",
    }


def _names(curves: pl.DataFrame, top: float) -> list[look.Figure]:
    """Name each line at its end, moved apart where they would lie on each other."""
    ends = curves.group_by("outcome").agg(pl.col("share").last()).sort("share")
    at, notes = -1.0, []
    for outcome, share in ends.iter_rows():
        at = max(share, at + LEAST_BETWEEN_LABELS * top)
        notes.append(look.note(OUTCOMES[outcome][0], 1, at, xref="paper", xanchor="left", xshift=4))
    return notes
