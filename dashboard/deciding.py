"""The request that keeps a decision, sent by a form of the dashboard itself."""

from collections.abc import Sequence
from html import escape
from typing import Protocol

from flask import Flask, Response, redirect, request
from werkzeug.wrappers import Response as AnyResponse

from analytics.decisions import Decision
from analytics.errors import BadQuestion, ServiceCallError
from dashboard import access
from dashboard.address import filters_only
from dashboard.components.deciding import PATH
from dashboard.shapes import FORM, check_shape

MOST_BYTES = 16_384
"""A note of 2,000 characters, each sent as up to nine bytes or, beyond the usual, twelve, would not fit;
what people write in letters of Europe does, and the message says what to do."""

TOO_LONG = "This is too long to keep; write less."
PLACES = {
    "return": "returns",
    "third_trip": "third-trips",
    "open_call": "open-calls",
    "no_proof": "no-proof",
    "group": "groups",
}


class Decides(Protocol):
    """Where decisions are kept, as far as a form minds."""

    def decide(self, made: Sequence[Decision]) -> None:
        """Keep decisions."""


def register(server: Flask, fleet: Decides) -> None:
    """Add the route; `guard` has checked before that the request comes from the dashboard itself."""

    @server.post(PATH)
    @access.require("settle")
    def decide() -> AnyResponse:
        check_shape(FORM, MOST_BYTES, TOO_LONG)
        asked, sent = request.args, request.form
        try:
            fleet.decide(
                [
                    Decision(
                        asked.get("matter", ""),
                        asked.get("about", ""),
                        asked.get("item", ""),
                        sent.get("value", ""),
                        sent.get("note", ""),
                        access.who(sent.get("who", "")),
                    )
                ]
            )
        except ServiceCallError as error:
            code = 400 if isinstance(error, BadQuestion) else 503
            text = refused(escape(str(error)), "/this-week", "Back to the list")
            return Response(text, code, mimetype="text/html")
        carried = filters_only(request.query_string.decode("utf-8", "replace"))
        return redirect(
            f"/this-week{carried}#{PLACES[asked['about']]}", 303
        )  # so that reloading sends nothing


def refused(why: str, back: str, words: str) -> str:
    """Return the page that says why nothing was kept; `why` is escaped already."""
    return REFUSED.format(why=why, back=back, words=words)


REFUSED = """<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width,
initial-scale=1"><title>This was not kept</title><link rel="stylesheet" href="/assets/a-tokens.css">
<link rel="stylesheet" href="/assets/b-page.css"></head><body><main><h1>This was not kept</h1>
<div class="state"><p>{why}</p><p><a href="{back}">{words}</a>; or go back in the browser, where
what you typed still stands.</p></div></main></body></html>
"""
