"""The frame around every page: head with navigation, main column, foot."""

from collections.abc import Sequence
from typing import Any

from dash import dcc, html
from dash.development.base_component import Component

from dashboard.components.attributes import spoken

PRODUCT = "Service-call analytics"

MENU: dict[str, Any] = {"aria-controls": "pages", "aria-expanded": "false"}
CURRENT: dict[str, Any] = {"aria-current": "page"}
OUTSIDE: dict[str, Any] = {"target": "_self"}
"""Of links to pages that are no part of the shell: the browser itself follows them."""

INDEX = f"""<!DOCTYPE html>
<html lang="en" data-product="{PRODUCT}">
<head>
{{%metas%}}
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{{%title%}}</title>
{{%favicon%}}
{{%css%}}
</head>
<body>
{{%app_entry%}}
<div hidden>{{%config%}}{{%scripts%}}{{%renderer%}}</div>
</body>
</html>"""


def frame() -> Component:
    """Return the layout that stays while pages come and go."""
    return html.Div(
        [
            dcc.Location(id="address", refresh="callback-nav"),
            dcc.Store(id="settled"),
            html.A("Skip to the page", href="#question", className="skip"),
            html.Header(
                [
                    html.A(PRODUCT, href="/", className="product"),
                    html.Button(
                        "Menu",
                        type="button",
                        className="menu plain",
                        **MENU,
                    ),
                    html.Div(id="navigation", className="navigation"),
                ],
                className="head",
            ),
            html.Main([html.Div(html.P("Loading…", className="loading"), id="page")]),
            html.Footer(
                "Counts and rates come from the records as loaded; each number opens the calls behind it.",
                className="foot",
            ),
        ]
    )


def navigation(
    links: Sequence[tuple[str, str, bool]], loaded: str, signed_in: tuple[str, str] | None = None
) -> list[Component]:
    """Return the links of the head.

    Parameters
    ----------
    links : list of (name, address, current)
        One per page.
    loaded : str
        "Data as loaded on 3 Mar 2026", or "" before the first load.
    signed_in : tuple of str, optional
        Name and role of whoever is signed in.
    """
    items = [
        html.Li(html.A(name, href=address, **(CURRENT if current else {})))
        for name, address, current in links
    ]
    nav = html.Nav(html.Ul(items), id="pages", **spoken("Questions"))
    here = [_signed_in(*signed_in)] if signed_in else []
    return [nav, *here, *([html.Span(html.A(loaded, href="/data"), className="loaded")] if loaded else [])]


def _signed_in(name: str, role: str) -> Component:
    leave = html.Form(
        html.Button("Sign out", type="submit"), action="/sign-out", method="post", className="decide sign-out"
    )
    links = [html.A("Password", href="/password", **OUTSIDE)]
    if role == "manage":
        links.append(html.A("Audit", href="/audit", **OUTSIDE))
    return html.Div([html.Span(name), *links, leave], className="signed-in")
