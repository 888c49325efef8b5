"""The requests by which a file is brought: sent, answered, tried, kept or dropped; and how far it is."""

from collections.abc import Callable
from html import escape
from typing import Protocol

from flask import Flask, Response, jsonify, redirect, request
from werkzeug.wrappers import Response as AnyResponse

from analytics.errors import BadFile, ServiceCallError, StoreProblem, UnknownRecord
from analytics.intake.bringing import KEEPING, LOOKING, TRYING, Bringing
from analytics.intake.uploads import MOST_BYTES
from dashboard import access
from dashboard.components.bringing import ANSWER, DROP, KEEP, PATH, PROGRESS, READ, ROLE, STAGES, TRY, to_file
from dashboard.shapes import FORM, check_shape

RAW = "application/octet-stream"
MOST_FORM_BYTES = 400_000


class Brings(Protocol):
    """Where files are brought to."""

    def bringing(self) -> Bringing:
        """Return what takes them in."""


def register(server: Flask, fleet: Brings) -> None:
    """Add the routes; `guard` has checked that what changes something comes from the dashboard itself."""
    actions: dict[str, Callable[[Bringing, str], str]] = {
        READ: _read_as,
        ANSWER: _answer,
        TRY: _try,
        KEEP: _keep,
        DROP: _drop,
    }

    @server.post(PATH)
    @access.require(ROLE)
    def bring() -> tuple[Response, int]:
        check_shape(RAW, MOST_BYTES, _larger(MOST_BYTES))
        try:
            size = request.content_length or 0
            brought = fleet.bringing().receive(request.args.get("name", ""), size, request.stream.read)
        except ServiceCallError as error:
            return jsonify(problem=str(error)), _status(error)
        return jsonify(address=to_file(brought.token)), 201

    @server.get(PROGRESS)
    @access.require(ROLE)
    def progress() -> tuple[Response, int]:
        try:
            stage = fleet.bringing().stage(request.args.get("file", ""))
        except ServiceCallError as error:
            return jsonify(problem=str(error), goes_on=False), _status(error)
        goes_on = stage.step in (LOOKING, TRYING, KEEPING)
        words = STAGES.get(stage.work.get("stage", ""), "Working")
        return jsonify(goes_on=goes_on, words=words, share=stage.work.get("share", 0.0)), 200

    def act(path: str) -> AnyResponse:
        check_shape(FORM, MOST_FORM_BYTES, _larger(MOST_FORM_BYTES))
        token = request.args.get("file", "")
        try:
            return redirect(actions[path](fleet.bringing(), token), 303)  # so that reloading sends nothing
        except ServiceCallError as error:
            back = to_file(token) if not isinstance(error, UnknownRecord) else PATH
            return Response(
                REFUSED.format(escape(str(error)), escape(back)), _status(error), mimetype="text/html"
            )

    for path in actions:
        view = access.require(ROLE)(lambda path=path: act(path))
        server.add_url_rule(path, f"bring {path}", view, methods=["POST"])


def _read_as(desk: Bringing, token: str) -> str:
    sheet = request.form.get("sheet", "")
    desk.read_as(token, request.form.get("table", ""), int(sheet) if sheet.isdecimal() else None)
    return to_file(token)


def _answer(desk: Bringing, token: str) -> str:
    said = desk.answer(token, request.form)
    return to_file(token, step="map", open="1") if said else to_file(token)


def _drop(desk: Bringing, token: str) -> str:
    desk.drop(token)
    return PATH


def _try(desk: Bringing, token: str) -> str:
    desk.try_it(token)
    return to_file(token)


def _keep(desk: Bringing, token: str) -> str:
    desk.keep(token, access.who())
    return to_file(token)


def _larger(most_bytes: int) -> str:
    return f"This is larger than {most_bytes:,} bytes, the most that is taken."


def _status(error: ServiceCallError) -> int:
    if isinstance(error, UnknownRecord):
        return 404
    if isinstance(error, StoreProblem):
        return 503
    return 422 if isinstance(error, BadFile) else 400


REFUSED = """<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width,
initial-scale=1"><title>This was not done</title><link rel="stylesheet" href="/assets/a-tokens.css">
<link rel="stylesheet" href="/assets/b-page.css"></head><body><main><h1>This was not done</h1>
<div class="state"><p>{}</p><p><a href="{}">Back to the file</a>; or go back in the browser, where what you
chose still stands.</p></div></main></body></html>
"""
