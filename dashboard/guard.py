"""What every request must pass and every answer carries: Host and Origin, security headers, real 404s."""

from typing import Protocol
from urllib.parse import urlsplit

import dash
from flask import Response, abort, request

from dashboard import pages
from dashboard.components import bringing, changes, deciding, lesson_form

LOOPBACK = frozenset({"127.0.0.1", "localhost", "::1"})
CHANGING = frozenset({deciding.PATH, lesson_form.PATH, *bringing.POSTS, *changes.POSTS})
"""Paths to which something that changes the store is sent."""

_NEEDED_BY_DASH = (
    "/_dash-",
    "/_reload-hash",
    "/_favicon.ico",
    "/assets/",
    "/export.csv",
    "/figure.json",
    bringing.PROGRESS,
    changes.PROGRESS,
)


class Served(Protocol):
    """How the application is served, as far as the guard minds."""

    @property
    def behind_proxy(self) -> bool:
        """Whether a proxy stands before it."""


def protect(app: dash.Dash, settings: Served) -> None:
    """Put the checks before, and the headers behind, every request.

    Parameters
    ----------
    app : Dash
        With all its callbacks registered: the policy lists the hashes of its inline scripts.
    settings : Settings
        Behind a proxy any Host is accepted; else only names of this machine, so that a page elsewhere can not
        reach the dashboard under a name of its own.
    """
    headers = _headers(app)

    @app.server.before_request
    def check() -> None:
        if not settings.behind_proxy and not _is_loopback(request.host):
            abort(
                Response(
                    "This dashboard answers only to names of this machine.\n", 400, mimetype="text/plain"
                )
            )
        if request.method not in ("GET", "HEAD", "OPTIONS") and not _same_origin():
            abort(
                Response(
                    "Requests that change something must come from this dashboard.\n",
                    403,
                    mimetype="text/plain",
                )
            )
        decides = request.method == "POST" and request.path in CHANGING
        if not decides and not request.path.startswith(_NEEDED_BY_DASH) and pages.find(request.path) is None:
            abort(Response(NOT_FOUND, 404, mimetype="text/html"))

    @app.server.after_request
    def add_headers(response: Response) -> Response:
        for name, value in headers.items():
            response.headers.setdefault(name, value)
        if request.path == "/_favicon.ico":
            # A browser asks for it again whenever a page writes its state into the address.
            response.headers["Cache-Control"] = "public, max-age=604800"
        return response


def _is_loopback(host: str) -> bool:
    return (urlsplit(f"//{host}").hostname or "") in LOOPBACK


def _same_origin() -> bool:
    """Say whether the browser vouches that the request comes from a page of this dashboard."""
    origin, site = request.headers.get("Origin"), request.headers.get("Sec-Fetch-Site", "same-origin")
    return site == "same-origin" and origin is not None and urlsplit(origin).netloc == request.host


def _headers(app: dash.Dash) -> dict[str, str]:
    scripts = " ".join(["'self'", *app.csp_hashes()])
    policy = {
        "default-src": "'self'",
        "script-src": scripts,
        "style-src": "'self' 'unsafe-inline'",  # Plotly.js and React write style attributes
        "img-src": "'self' data: blob:",
        "font-src": "'self' data:",
        "connect-src": "'self'",
        "worker-src": "'self' blob:",
        "base-uri": "'none'",
        "form-action": "'self'",
        "frame-ancestors": "'none'",
        "object-src": "'none'",
    }
    return {
        "Content-Security-Policy": "; ".join(f"{name} {value}" for name, value in policy.items()),
        "X-Content-Type-Options": "nosniff",
        "Referrer-Policy": "same-origin",
        "Cross-Origin-Opener-Policy": "same-origin",
        "Cross-Origin-Resource-Policy": "same-origin",
        "X-Frame-Options": "DENY",
    }


NOT_FOUND = """<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-
scale=1"> <title>There is no such page</title><link rel="stylesheet" href="/assets/a-tokens.css"> <link
rel="stylesheet" href="/assets/b-page.css"></head> <body><main><h1>There is no such page</h1> <div
class="state"><p>Nothing lives at this address; it may be mistyped.</p> <p><a href="/">Go to the summary</a>,
or <a href="/calls">look through all calls</a>.</p></div></main></body></html>
"""
