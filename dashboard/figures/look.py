"""What all charts share: colours, type, margins; nothing decorative.

Figures are plain dictionaries of data and layout, as Plotly.js takes them: building the classes of plotly.py
costs more server time than the whole page may take. `tests/dashboard/test_figures.py` has plotly.py check
each of them.
"""

from typing import Any

# Okabe M, Ito K (2008), Color Universal Design. Blue and vermillion reach 3:1 on light and on dark paper.
ACCENT = "#0072B2"
FLAG = "#D55E00"
REST = "#767D86"
INK = "#1B1F24"
BAND = "rgba(118, 125, 134, 0.18)"
PALE = {ACCENT: "rgba(0, 114, 178, 0.45)", FLAG: "rgba(213, 94, 0, 0.6)"}  # the same, for intervals
CLEAR = "rgba(0, 0, 0, 0)"
FONT = "system-ui, 'Segoe UI', Roboto, 'Liberation Sans', Arial, sans-serif"

Figure = dict[str, Any]

CONFIG = {"displayModeBar": False, "displaylogo": False, "scrollZoom": False, "doubleClick": False}


def layout(height: int, **more: Any) -> dict[str, Any]:
    """Return the layout that every chart starts from.

    Parameters
    ----------
    height : int
        Pixels.
    **more
        Further layout keys, as Plotly.js takes them.
    """
    return {
        "height": height,
        "margin": {"l": 44, "r": 12, "t": 12, "b": 36},
        "paper_bgcolor": CLEAR,
        "plot_bgcolor": CLEAR,
        "font": {"family": FONT, "size": 13, "color": INK},
        "showlegend": False,
        "hovermode": "closest",
        "dragmode": False,
        "hoverlabel": {"bgcolor": INK, "font": {"color": "#FFFFFF", "size": 13}, "align": "left"},
        **more,
    }


def axis(**more: Any) -> dict[str, Any]:
    """Return an axis: thin grid, no frame, fixed range so that a touch scrolls the page and not the chart."""
    return {"gridcolor": "#DCDFE3", "zeroline": False, "fixedrange": True, "ticks": "", **more}


def note(text: str, x: Any, y: Any, **more: Any) -> dict[str, Any]:
    """Return a short text on the chart, without arrow."""
    return {"text": text, "x": x, "y": y, "showarrow": False, "font": {"size": 13}, **more}


def picture(figure: Figure, title: str, about: str) -> Figure:
    """Return a chart as it leaves the page: on white, with a title, and below it which calls it is about."""
    layout = figure["layout"]
    room = 64
    return figure | {
        "layout": layout
        | {
            "paper_bgcolor": "#FFFFFF",
            "height": layout["height"] + room,
            "margin": layout["margin"] | {"t": layout["margin"]["t"] + room},
            "title": {
                "text": title,
                "subtitle": {"text": about, "font": {"size": 12}},
                "x": 0,
                "xref": "container",
                "pad": {"l": 16, "t": 16},
                "y": 1,
                "yref": "container",
                "yanchor": "top",
                "font": {"size": 17},
            },
        }
    }
