"""What other rules of changing filters would avoid: a dot and an interval for each rule."""

from typing import Any

import polars as pl

from dashboard.figures import look

ROW_HEIGHT = 34
SUPPOSED = "if old filters <i>cause</i> the difference,<br>which the records can not prove"
NAMES = {"planned": "every {} months", "at_visit": "at visits, over {}"}


def avoided(rules: pl.DataFrame) -> look.Figure:
    """Draw the failures that each rule would avoid, with the assumption on the chart.

    Parameters
    ----------
    rules : DataFrame
        Columns rule, months, failures_avoided, failures_avoided_low, failures_avoided_high; rules that
        nothing can be said of (null) are left out.

    Returns
    -------
    dict
        A figure for Plotly.js.
    """
    known = rules.filter(pl.col("failures_avoided").is_not_null())
    names = [NAMES[rule].format(months) for rule, months in known.select("rule", "months").iter_rows()]
    value, low, high = (known[f"failures_avoided{end}"] for end in ("", "_low", "_high"))
    dots: dict[str, Any] = {
        "x": value.to_list(),
        "y": names,
        "mode": "markers",
        "marker": {"color": look.ACCENT, "size": 10},
        "hovertemplate": "%{y}: %{x:.0f} a year per 1,000 units<extra></extra>",
    }
    # as lines of their own: error bars are not drawn by every browser on a narrow screen
    reach = {
        "x": [limit for pair in zip(low, high, strict=True) for limit in (*pair, None)],
        "y": [name for name in names for _ in range(3)],
        "mode": "lines",
        "line": {"color": look.ACCENT, "width": 2},
        "hoverinfo": "skip",
    }
    none = {
        "type": "line",
        "x0": 0,
        "x1": 0,
        "y0": 0,
        "y1": 1,
        "yref": "paper",
        "line": {"color": look.REST, "width": 1},
    }
    note = look.note(
        SUPPOSED,
        0,
        1,
        xref="paper",
        yref="paper",
        xanchor="left",
        yanchor="bottom",
        align="left",
        xshift=-110,
        yshift=4,
    )
    layout = look.layout(
        120 + ROW_HEIGHT * max(known.height, 1),
        annotations=[note],
        shapes=[none],
        xaxis=look.axis(title={"text": "failures avoided<br>per 1,000 units and year"}, nticks=6),
        yaxis=look.axis(autorange="reversed", showgrid=False, tickfont={"size": 12}),
    )
    layout["margin"] |= {"l": 118, "t": 48, "b": 64}
    return {"data": [reach, dots], "layout": layout}
