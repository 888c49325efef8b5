"""Groups beside each other, as pictures to keep: dots with intervals for rates, bars from zero for counts."""

import polars as pl

from dashboard.figures import look

ROW_HEIGHT = 30


def intervals(
    groups: pl.DataFrame,
    reference: float | None = None,
    reference_name: str = "all calls",
    shares: bool = True,
) -> look.Figure:
    """Draw one rate per group, sorted as given, from the top.

    Parameters
    ----------
    groups : DataFrame
        label, value, low, high (0..1 where they are shares), note (count written beside).
    reference : float, optional
        A rate to compare with, drawn as a thin line.
    reference_name : str
        What that rate is.
    shares : bool
        Whether the values are shares, written as percentages.

    Returns
    -------
    dict
        A figure for Plotly.js.
    """
    rows = groups.filter(pl.col("value").is_not_null())
    dots = {
        "x": rows["value"].to_list(),
        "y": rows["label"].to_list(),
        "mode": "markers",
        "marker": {"color": look.ACCENT, "size": 9},
        "error_x": {
            "type": "data",
            "symmetric": False,
            "array": (rows["high"] - rows["value"]).to_list(),
            "arrayminus": (rows["value"] - rows["low"]).to_list(),
            "thickness": 2,
            "width": 0,
            "color": look.ACCENT,
        },
        "hovertemplate": "%{y}: %{x:.1%}<extra></extra>" if shares else "%{y}: %{x:.1f}<extra></extra>",
    }
    notes = [
        look.note(row["note"], 1, row["label"], xref="paper", xanchor="left", xshift=8)
        for row in rows.iter_rows(named=True)
    ]
    shapes = []
    if reference is not None:
        line = {"color": look.REST, "width": 1}
        shapes = [
            {
                "type": "line",
                "x0": reference,
                "x1": reference,
                "yref": "paper",
                "y0": 0,
                "y1": 1,
                "line": line,
            }
        ]
        notes.append(look.note(reference_name, reference, 1, yref="paper", yanchor="bottom"))
    layout = _layout(rows.height, annotations=notes, shapes=shapes)
    layout["xaxis"] = look.axis(tickformat=".0%" if shares else "", rangemode="tozero")
    return {"data": [dots], "layout": layout}


def bars(groups: pl.DataFrame) -> look.Figure:
    """Draw one count per group as a bar from zero, sorted as given, from the top.

    Parameters
    ----------
    groups : DataFrame
        label, value (count), note (written beside).

    Returns
    -------
    dict
        A figure for Plotly.js.
    """
    trace = {
        "type": "bar",
        "orientation": "h",
        "x": groups["value"].to_list(),
        "y": groups["label"].to_list(),
        "text": groups["note"].to_list(),
        "textposition": "outside",
        "cliponaxis": False,
        "marker": {"color": look.ACCENT},
        "hovertemplate": "%{y}: %{x:,}<extra></extra>",
    }
    layout = _layout(groups.height)
    layout["xaxis"] = look.axis(rangemode="tozero", nticks=5)
    return {"data": [trace], "layout": layout}


def _layout(rows: int, **more: object) -> look.Figure:
    layout = look.layout(70 + ROW_HEIGHT * max(rows, 1), bargap=0.4, **more)
    layout["margin"] = {"l": 160, "r": 120, "t": 28, "b": 36}
    layout["yaxis"] = look.axis(autorange="reversed", showgrid=False, automargin=True)
    return layout
