"""How often units fail, by the age of their filter."""

import polars as pl

from dashboard.figures import look

HEIGHT = 360
COMMON_PRACTICE = {2.5: "6 months", 4.5: "12 months"}
"""Between which bands common practice draws its lines: the position of the edge, and its words."""
SOURCE = "dashed: common practice;<br>the maker's sheet comes first"


def failure_rates(bands: pl.DataFrame, called: pl.DataFrame) -> look.Figure:
    """Draw failures per 1,000 unit-months by band, with their intervals.

    Parameters
    ----------
    bands : DataFrame
        By the age when the trouble began: columns band, rate, low, high, the first two weeks first.
    called : DataFrame
        The same by the age at the call, drawn as small hollow marks beside.

    Returns
    -------
    dict
        A figure for Plotly.js.
    """
    names = [_words(band) for band in bands["band"]]
    places = list(range(len(names)))
    tops = [value for frame in (bands, called) for value in frame["high"].drop_nulls()]
    top = 1.2 * max(tops, default=1.0) or 1.0
    dots = {
        "x": places,
        "y": bands["rate"].to_list(),
        "mode": "markers",
        "marker": {"color": look.ACCENT, "size": 10},
        "error_y": {
            "type": "data",
            "symmetric": False,
            "array": (bands["high"] - bands["rate"]).to_list(),
            "arrayminus": (bands["rate"] - bands["low"]).to_list(),
            "thickness": 2,
            "width": 0,
            "color": look.ACCENT,
        },
        "customdata": names,
        "hovertemplate": "%{customdata}: %{y:.1f} when the trouble began<extra></extra>",
    }
    beside = {
        "x": [place + 0.18 for place in places],
        "y": called["rate"].to_list(),
        "mode": "markers",
        "marker": {"color": look.REST, "size": 8, "symbol": "diamond-open"},
        "customdata": names,
        "hovertemplate": "%{customdata}: %{y:.1f} at the call<extra></extra>",
    }
    lines = [
        {
            "type": "line",
            "x0": at,
            "x1": at,
            "y0": 0,
            "y1": 1,
            "yref": "paper",
            "line": {"color": look.REST, "width": 1, "dash": "dash"},
        }
        for at in COMMON_PRACTICE
    ]
    notes = [
        look.note(words, at, 1, yref="paper", yanchor="top", xanchor="left", xshift=4)
        for at, words in COMMON_PRACTICE.items()
    ]
    layout = look.layout(
        HEIGHT,
        annotations=notes,
        shapes=lines,
        xaxis=look.axis(
            title={"text": f"age of the filter, months<br>{SOURCE}"},
            tickangle=0,
            tickfont={"size": 11},
            tickvals=places,
            ticktext=names,
            range=[-0.5, len(names) - 0.5],
            showgrid=False,
        ),
        yaxis=look.axis(title={"text": "failures per 1,000 unit-months"}, range=[0, top], nticks=6),
    )
    layout["margin"] |= {"b": 100, "l": 56}
    return {"data": [dots, beside], "layout": layout}


def _words(band: str) -> str:
    return "first<br>2 wks" if band == "first two weeks" else band.replace("-", "–")
