"""How often causes were there that were given a chance: a dot a bin with its interval, beside the
diagonal."""

from collections.abc import Sequence
from typing import Any

from dashboard.figures import look


def calibration(bins: Sequence[dict[str, Any]]) -> look.Figure:
    """Draw the share that was there over the mean chance given.

    Parameters
    ----------
    bins : sequence of dict
        mean_chance, share, share_low, share_high (0..1), given, there.

    Returns
    -------
    dict
        A figure for Plotly.js.
    """
    dots = {
        "x": [row["mean_chance"] for row in bins],
        "y": [row["share"] for row in bins],
        "mode": "markers",
        "marker": {"color": look.ACCENT, "size": 9},
        "error_y": {
            "type": "data",
            "symmetric": False,
            "array": [row["share_high"] - row["share"] for row in bins],
            "arrayminus": [row["share"] - row["share_low"] for row in bins],
            "thickness": 2,
            "width": 0,
            "color": look.ACCENT,
        },
        "customdata": [[f"{row['there']:,} of {row['given']:,}"] for row in bins],
        "hovertemplate": "said %{x:.0%}, was there %{y:.0%}<br>%{customdata[0]}<extra></extra>",
    }
    line = {"color": look.REST, "width": 1}
    layout = look.layout(
        380,
        shapes=[{"type": "line", "x0": 0, "y0": 0, "x1": 1, "y1": 1, "line": line}],
        annotations=[
            look.note("as said", 0.9, 0.9, xanchor="right", yanchor="bottom", xshift=-6),
            look.note("chance given", 1, 0, xref="paper", yref="paper", xanchor="right", yanchor="bottom"),
            look.note("was there", 0, 1, xref="paper", yref="paper", xanchor="left", yanchor="top"),
        ],
    )
    layout["xaxis"] = look.axis(tickformat=".0%", range=[0, 1])
    layout["yaxis"] = look.axis(tickformat=".0%", range=[0, 1.02])
    return {"data": [dots], "layout": layout}
