"""The pages on which people sign in, sign out and change their password."""

from html import escape
from math import ceil
from typing import Any

from flask import Flask, Response, redirect, request

from analytics.doors import Doors, Refused
from analytics.errors import BadQuestion, ServiceCallError
from analytics.passwords import SHORTEST
from dashboard import access
from dashboard.access import SIGN_IN, Served
from dashboard.components.plain import document, field, plain_page, told

FORM = "application/x-www-form-urlencoded"
MOST_BYTES = 8_192
PASSWORD = "/password"
SIGN_OUT = "/sign-out"
WRONG = "This name and password do not belong together."
SCRIPT = "sign_in.js"


def register(server: Flask, doors: Doors, settings: Served) -> None:
    """Add the routes; `guard` has checked before that what is sent comes from the dashboard itself."""
    secure = settings.behind_proxy
    cookie = access.cookie_name(secure)

    @server.get(SIGN_IN)
    @access.require(access.FOR_EVERYBODY)
    def sign_in_page() -> Any:
        if not doors.accounts.exist():
            return redirect("/", 303)
        return document("Sign in", _sign_in_form(request.args.get("next", "/")), SCRIPT)

    @server.post(SIGN_IN)
    @access.require(access.FOR_EVERYBODY)
    def sign_in() -> Any:
        if refused := _wrong_shape():
            return refused
        name, password = request.form.get("name", ""), request.form.get("password", "")
        next_page = access.local(request.form.get("next", "/"))
        try:
            came = doors.sign_in(name, password, _address(), request.cookies.get(cookie, ""))
        except ServiceCallError as error:
            return Response(plain_page("Nobody can sign in", str(error)), 503, mimetype="text/html")
        if isinstance(came, Refused):
            page = document("Sign in", _sign_in_form(next_page, name, _why(came)), SCRIPT)
            return Response(page, 429 if came.wait_s else 401, _retry(came), mimetype="text/html")
        answer = redirect(next_page, 303)
        answer.set_cookie(cookie, came.token, httponly=True, samesite="Strict", secure=secure, path="/")
        return answer

    @server.post(SIGN_OUT)
    @access.require("look")
    def sign_out() -> Any:
        doors.sign_out(request.cookies.get(cookie, ""))
        return _away(cookie, secure)

    @server.get(PASSWORD)
    @access.require("look")
    def password_page() -> Any:
        if access.person() is None:
            return redirect("/", 303)
        return document("Change your password", _password_form(), SCRIPT)

    @server.post(PASSWORD)
    @access.require("look")
    def change_password() -> Any:
        here = access.person()
        if refused := _wrong_shape():
            return refused
        if here is None:
            return redirect("/", 303)
        sent = request.form
        try:
            no = doors.change_password(here, sent.get("old", ""), sent.get("new", ""), _address())
            words = _why(no, "The old password is not right.") if no else ""
        except BadQuestion as error:
            words = str(error)
        if words:
            return Response(
                document("Change your password", _password_form(words), SCRIPT), 400, mimetype="text/html"
            )
        return _away(cookie, secure)


def _away(cookie: str, secure: bool) -> Any:
    answer = redirect(SIGN_IN, 303)
    answer.delete_cookie(cookie, path="/", secure=secure, httponly=True, samesite="Strict")
    answer.headers["Clear-Site-Data"] = '"cache", "storage"'
    return answer


def _address() -> str:
    return request.remote_addr or "unknown"


def _wrong_shape() -> Response | None:
    if request.mimetype != FORM or request.content_length is None or request.content_length > MOST_BYTES:
        return Response("A form of this dashboard is sent otherwise.\n", 400, mimetype="text/plain")
    return None


def _why(refused: Refused, wrong: str = WRONG) -> str:
    if not refused.wait_s:
        return wrong
    minutes = ceil(refused.wait_s / 60)
    wait = f"{ceil(refused.wait_s)} seconds" if refused.wait_s < 90 else f"{minutes} minutes"
    return f"Too many tries. Wait {wait}, then try again."


def _retry(refused: Refused) -> dict[str, str]:
    return {"Retry-After": str(ceil(refused.wait_s))} if refused.wait_s else {}


_SHOW = '<label class="show" hidden><input type="checkbox" data-shows="{}"> Show what I type</label>'


def _sign_in_form(next_page: str, name: str = "", words: str = "") -> str:
    return (
        f'{told(words)}<form class="decide plain-form" action="{SIGN_IN}" method="post">'
        f"{field('name', 'Your name', 'text', 'username', name[:60])}"
        f"{field('password', 'Password', 'password', 'current-password')}{_SHOW.format('password')}"
        f'<input type="hidden" name="next" value="{escape(next_page)}">'
        '<button type="submit">Sign in</button></form>'
        "<p><small>You are signed out after 30 minutes without a click, and after 12 hours. "
        "Password forgotten? Whoever manages the accounts gives you another.</small></p>"
    )


def _password_form(words: str = "") -> str:
    hint = f"At least {SHORTEST} characters; a few words in a row are fine."
    return (
        f'{told(words)}<form class="decide plain-form" action="{PASSWORD}" method="post">'
        f"{field('old', 'Password until now', 'password', 'current-password')}"
        f"{field('new', 'New password', 'password', 'new-password', hint=hint)}{_SHOW.format('old new')}"
        '<button type="submit">Change it and sign in again</button></form>'
        '<p><a href="/">Leave it as it is</a></p>'
    )
