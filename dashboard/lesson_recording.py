"""The request that records a lesson or takes one back, sent by a form of the dashboard itself."""

from html import escape
from typing import Protocol

from flask import Flask, Response, redirect, request
from werkzeug.wrappers import Response as AnyResponse

from analytics.errors import BadQuestion, ServiceCallError, UnknownRecord
from analytics.lessons import Lesson, read_day
from dashboard import access
from dashboard.components.lesson_form import PATH
from dashboard.deciding import MOST_BYTES, TOO_LONG, refused
from dashboard.shapes import FORM, check_shape


class Records(Protocol):
    """Where lessons are kept, as far as a form minds."""

    def record_lesson(self, lesson: Lesson) -> None:
        """Keep a lesson."""

    def take_back_lesson(self, key: str, who: str = "") -> None:
        """Take a lesson back."""


def register(server: Flask, fleet: Records) -> None:
    """Add the route; `guard` has checked before that the request comes from the dashboard itself."""

    @server.post(PATH)
    @access.require("settle")
    def record() -> AnyResponse:
        check_shape(FORM, MOST_BYTES, TOO_LONG)
        sent = request.form
        try:
            if key := sent.get("take_back", ""):
                fleet.take_back_lesson(key, access.who(sent.get("who", "")))
            else:
                fleet.record_lesson(
                    Lesson(
                        read_day(sent.get("day", "")),
                        sent.get("cause", ""),
                        tuple(sent.getlist("attended")),
                        sent.get("note", ""),
                        access.who(sent.get("who", "")),
                    )
                )
        except ServiceCallError as error:
            code = 400 if isinstance(error, BadQuestion | UnknownRecord) else 503
            text = refused(escape(str(error)), "/lessons", "Back to the lessons")
            return Response(text, code, mimetype="text/html")
        return redirect("/lessons#recorded", 303)  # so that reloading sends nothing
