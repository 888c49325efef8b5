"""The anatomy of a page, top to bottom: question, filters, answer, evidence, how it was counted."""

from collections.abc import Sequence
from typing import Any

from dash import html
from dash.development.base_component import Component


def page(
    question: str,
    *parts: Component | list[Component] | None,
) -> list[Component]:
    """Return the content of a page under its question.

    Parameters
    ----------
    question : str
        The title, in the user's words; receives the focus when the page opens.
    *parts
        The filter sentence, notices, the answer, `evidence` and `counted`, in this order; None is left out.
    """
    flat: list[Component] = [html.H1(question, id="question", tabIndex="-1")]
    for part in parts:
        flat += part if isinstance(part, list) else [part] if part is not None else []
    return flat


def evidence(*exhibits: Component | None, id: str | None = None) -> Component:
    """Return the evidence of a page, one exhibit below the other; "one-sheet" prints on one page."""
    named: dict[str, Any] = {"id": id} if id else {}
    return html.Div([each for each in exhibits if each is not None], className="evidence", **named)


def beside(*exhibits: Component | None, layout: str = "") -> Component:
    """Return exhibits side by side where there is room; "narrow-wide" gives the second more of it."""
    shown = [each for each in exhibits if each is not None]
    return html.Div(shown, className=f"beside {layout}".rstrip())


def counted_how(
    definition: Sequence[str | Component],
    facts: Sequence[tuple[str, str | Component | list[str | Component]]] = (),
) -> Component:
    """Return "How this was counted", closed by default.

    Parameters
    ----------
    definition : list of text or component
        Paragraphs.
    facts : list of (term, value)
        What was left out and how many, sources, ends of observation.
    """
    rows = [part for term, value in facts for part in (html.Dt(term), html.Dd(value))]
    body = [html.P(each, className="prose") for each in definition] + ([html.Dl(rows)] if rows else [])
    return html.Details([html.Summary("How this was counted"), html.Div(body)], className="counted")
