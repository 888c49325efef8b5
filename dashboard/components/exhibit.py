"""One piece of evidence: titled with its finding, a picture and file to keep, and its twin as a table."""

from collections.abc import Sequence
from typing import Any, cast

from dash import dcc, html
from dash.development.base_component import Component

from dashboard.components.attributes import spoken
from dashboard.figures.look import CONFIG, Figure
from dashboard.words import counted

Child = Component | str


def exhibit(
    finding: str,
    body: list[Component] | Component,
    lead: list[Child] | str = "",
    tools: Sequence[Component] = (),
    id: str | None = None,
) -> Component:
    """Return a section of evidence.

    Parameters
    ----------
    finding : str
        The title: what the evidence shows, not what its axes are.
    body : component or list of them
        Chart or table.
    lead : text or components
        How to read it, in a sentence.
    tools : list of components
        Links and buttons that keep a copy, see `keep_csv` and `keep_png`.
    """
    head = html.Header(
        [html.H2(finding), html.Div(list(tools), className="tools")] if tools else [html.H2(finding)]
    )
    lead_line = [html.P(lead, className="lead")] if lead else []
    parts = body if isinstance(body, list) else [body]
    children = [head, *lead_line, html.Div(parts, className="body")]
    named: dict[str, Any] = {"id": id} if id else {}
    return html.Section(children, className="exhibit", **named)


def keep_csv(address: str, what: str) -> Component:
    """Return a link that saves the numbers of an exhibit as a CSV file."""
    return html.A("CSV", href=address, download="", **spoken(f"CSV: {what}"))


def keep_png(address: str, name: str, what: str) -> Component:
    """Return a button that saves an exhibit as a picture, drawn by the browser from the figure there."""
    named = spoken(f"PNG: {what}", picture=address, name=name)
    return html.Button("PNG", type="button", className="plain", **named)


def chart(key: str, figure: Figure, shows: str) -> Component:
    """Return a chart; screen readers hear what it shows, and find its numbers in the table beside it.

    Parameters
    ----------
    key : str
        Name of the chart on its page.
    figure : dict
        From `dashboard.figures`.
    shows : str
        What the chart shows, in a sentence.
    """
    graph = dcc.Graph(
        id={"chart": key},
        figure=figure,
        config=cast(Any, CONFIG),
        responsive=True,
        style={"height": figure["layout"]["height"]},
    )
    return html.Div(graph, className="chart", role="img", **spoken(shows))


def twin(table: Component, words: str = "The same as a table") -> Component:
    """Return a table that folds away below the chart whose numbers it holds."""
    return html.Details([html.Summary(words), table], className="twin")


def left_to_csv(shown: int, of: int, what: str) -> list[Component]:
    """Return the line that says how many rows only the CSV file has, or nothing where the table is whole."""
    left = of - shown
    return [html.P(f"{counted(left, what)} more in the CSV.", className="more")] if left > 0 else []


def more_csv(text: str, address: str) -> Component:
    """Return the line below an exhibit that saves the records behind it as a CSV file."""
    return html.P(html.A(text, href=address, download=""), className="more")


def more(text: str, address: str) -> Component:
    """Return the line below an exhibit that leads to the whole of it."""
    return html.P(html.A(text, href=address), className="more")
