"""Who is there, and what they may do: each route names the role it needs, and one that names none is refused.

While there is no account the dashboard is open, as it then serves this machine alone.
"""

from collections.abc import Callable
from typing import Any, Protocol, TypeVar
from urllib.parse import quote, urlsplit

from flask import Flask, Response, abort, current_app, g, redirect, request

from analytics.accounts import Person
from analytics.doors import Doors
from analytics.errors import StoreProblem
from dashboard import pages
from dashboard.components.plain import plain_page

SIGN_IN = "/sign-in"
FOR_EVERYBODY = "everybody"
_OPEN = ("/assets/", "/_dash-component-suites/", "/_favicon.ico")
"""Scripts, styles and the icon: the same for everybody, and nothing of the records in them."""

_LOOK = frozenset({"/_dash-layout", "/_dash-dependencies", "/_dash-update-component", "/_reload-hash"})
_NEEDS = "_role_needed"

View = TypeVar("View", bound=Callable[..., Any])


class Served(Protocol):
    """How the application is served, as far as access minds."""

    @property
    def behind_proxy(self) -> bool:
        """Whether a proxy stands before it."""


def require(role: str) -> Callable[[View], View]:
    """Say which role the view of a route needs; put it between the route and the function.

    Parameters
    ----------
    role : str
        look, settle (load files, settle phrases, decide) or manage; each covers those before it.

    Examples
    --------
    >>> @require("settle")
    ... def bring() -> str:
    ...     return "..."
    """

    def mark(view: View) -> View:
        setattr(view, _NEEDS, role)
        return view

    return mark


def person() -> Person | None:
    """Return who is signed in; None where there are no accounts, or outside of a request."""
    found: Person | None = g.get("person") if g else None
    return found


def who(typed: str = "") -> str:
    """Return the name to keep beside what is done: that of the account, else what was typed."""
    here = person()
    return here.name if here else typed


def may(role: str) -> bool:
    """Say whether whoever asks may do what needs a role."""
    here = person()
    return here is None or here.may(role)


def sees_names() -> bool:
    """Say whether whoever asks may see technicians' names; only a request that was let in may."""
    return bool(g.get("sees_names")) if g else True


def note(what: str, about: str = "") -> None:
    """Keep in the audit what the current request did; `what` is one of `analytics.audit_lines.EVENTS`."""
    doors: Doors = current_app.extensions["doors"]
    doors.audit.note(who() or "dashboard, without accounts", what, about)


def is_declared() -> bool:
    """Say whether the current request goes to a route that names the role it needs."""
    return request.method != "OPTIONS" and _declared() is not None


def cookie_name(secure: bool) -> str:
    """Name of the cookie; with the prefix that binds it to HTTPS and this host, where there is HTTPS."""
    return "__Host-sign-in" if secure else "sign-in"


def protect(server: Flask, doors: Doors, settings: Served) -> None:
    """Ask before every request who it is; behind a proxy nobody is let in while there are no accounts."""
    server.extensions["doors"] = doors
    cookie = cookie_name(settings.behind_proxy)

    @server.before_request
    def check() -> Any:
        g.person, g.sees_names = None, False
        needed = _needed()
        if needed == FOR_EVERYBODY:
            return None
        try:
            if not doors.accounts.exist():
                g.sees_names = True
                return _no_accounts() if settings.behind_proxy else _refuse_undeclared(needed)
            g.person = doors.person(request.cookies.get(cookie, ""))
            g.sees_names = g.person is not None and g.person.may(doors.accounts.names_from())
        except StoreProblem as error:
            page = plain_page("Who may look can not be told", str(error))
            return Response(page, 503, mimetype="text/html")
        if g.person is None:
            return _asked_to_sign_in()
        if needed is None or not g.person.may(needed):
            return Response(
                plain_page("Your account may not do this", "Ask whoever manages the accounts.", "/"),
                403,
                mimetype="text/html",
            )
        return None

    @server.after_request
    def keep_nothing(response: Response) -> Response:
        if not request.path.startswith(_OPEN) and (g.get("person") or request.path == SIGN_IN):
            response.headers["Cache-Control"] = "no-store"
        if settings.behind_proxy:
            response.headers["Strict-Transport-Security"] = "max-age=31536000"
        return response


def _declared() -> str | None:
    view = current_app.view_functions.get(request.endpoint or "")
    return getattr(view, _NEEDS, None)


def _needed() -> str | None:
    """Return the role that the current request needs; None refuses it to everybody."""
    if declared := _declared():
        return declared
    if request.path.startswith(_OPEN):
        return FOR_EVERYBODY
    is_page = request.method in ("GET", "HEAD") and pages.find(request.path) is not None
    return "look" if is_page or request.path in _LOOK else None


def _refuse_undeclared(needed: str | None) -> None:
    if needed is None and request.method not in ("GET", "HEAD", "OPTIONS"):
        abort(403)


def _no_accounts() -> Response:
    words = (
        "This dashboard is served to others, and there is no account any more. Whoever runs it can make one: "
        "service-calls users add NAME"
    )
    return Response(plain_page("Nobody can sign in", words), 503, mimetype="text/html")


def _asked_to_sign_in() -> Any:
    if request.method in ("GET", "HEAD") and pages.find(request.path) is not None:
        back = request.path + ("?" + request.query_string.decode("latin-1") if request.query_string else "")
        return redirect(f"{SIGN_IN}?next={quote(back, safe='')}", 303)
    words = "You are not signed in, or not any more. Sign in in another tab, then go back in the browser."
    return Response(plain_page("Please sign in", words, SIGN_IN), 401, mimetype="text/html")


def local(address: str) -> str:
    """Return an address of a page of this dashboard, else that of the first page."""
    parts = urlsplit(address)
    strange = not address.isprintable() or "\\" in address or parts.netloc or parts.scheme
    if strange or not address.startswith("/") or address.startswith("//"):
        return "/"
    return address if pages.find(parts.path) is not None else "/"
