"""Groups by their size, and between which rates chance alone would put them."""

import polars as pl

from analytics.questions.comparison import Comparison
from dashboard.figures import look
from dashboard.words import as_words

HEIGHT = 380
MOST_NAMED = 5
"""Of the groups that differ, those with most calls carry their names; more would lie over each other."""


def funnel(found: Comparison, named: bool) -> look.Figure:
    """Draw the adjusted rate of each group against its calls, with the limits of chance.

    Parameters
    ----------
    found : Comparison
    named : bool
        Whether groups that differ carry their name; people do not.

    Returns
    -------
    dict
        A figure for Plotly.js.
    """
    mean = found.rate or 0.0
    groups = found.groups.filter("ranked").with_columns((pl.col("ratio") * mean).alias("adjusted"))
    limits = found.funnel
    sizes = limits["calls"].to_list()
    lines = [
        _limit(sizes, limits[name].to_list(), dash)
        for name, dash in (("low", "solid"), ("high", "solid"), ("lowest", "dash"), ("highest", "dash"))
    ]
    within = groups.filter(~pl.col("differs"))
    beyond = groups.filter("differs")
    dots = [
        _dots(within, look.ACCENT, "circle", named),
        _dots(beyond, look.FLAG, "diamond", named),
    ]
    notes = [
        look.note(as_words(row["group"], row["label"]), row["calls"], row["adjusted"], yshift=14)
        for row in beyond.sort("calls", descending=True)
        .head(MOST_NAMED if named else 0)
        .iter_rows(named=True)
    ]
    notes += _limit_names(limits)
    rule = {"type": "line", "xref": "paper", "x0": 0, "x1": 1, "y0": mean, "y1": mean}
    layout = look.layout(
        HEIGHT,
        annotations=[*notes, look.note("all calls", 0, mean, xref="paper", xanchor="left", yshift=9)],
        shapes=[rule | {"line": {"width": 1, "color": look.REST}}],
        xaxis=look.axis(title={"text": "calls that can be judged"}, showgrid=False, rangemode="tozero"),
        yaxis=look.axis(tickformat=".0%", rangemode="tozero", nticks=6),
    )
    layout["margin"] |= {"b": 52, "r": 60}
    return {"data": [*lines, *dots], "layout": layout}


def _limit(sizes: list[int], values: list[float], dash: str) -> look.Figure:
    return {
        "x": sizes,
        "y": values,
        "mode": "lines",
        "line": {"width": 1, "dash": dash, "color": look.REST},
        "hoverinfo": "skip",
    }


def _limit_names(limits: pl.DataFrame) -> list[look.Figure]:
    if limits.is_empty():
        return []
    last = limits.row(-1, named=True)
    ends = (("95%", last["high"]), ("99.8%", last["highest"]))
    return [look.note(text, last["calls"], value, xanchor="left", xshift=4) for text, value in ends]


def _dots(groups: pl.DataFrame, colour: str, symbol: str, named: bool) -> look.Figure:
    labels = [as_words(code, label) for code, label in groups.select("group", "label").iter_rows()]
    said = "%{text}<br>" if named else ""
    return {
        "x": groups["calls"].to_list(),
        "y": groups["adjusted"].to_list(),
        "text": labels if named else [""] * len(labels),
        "mode": "markers",
        "marker": {"color": colour, "symbol": symbol, "size": 9},
        "hovertemplate": f"{said}%{{y:.1%}}, %{{x:,}} calls<extra></extra>",
    }
