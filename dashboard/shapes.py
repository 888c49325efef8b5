"""The shape that a request has to have before anything of it is read: kind of content, and length."""

from flask import Response, abort, request

FORM = "application/x-www-form-urlencoded"


def check_shape(kind: str, most_bytes: int, too_long: str) -> None:
    """Refuse what no form of the dashboard sends; `too_long` says what to do about too much."""
    if request.mimetype != kind:
        _refuse(f"This is to be sent as {kind}.", 415)
    if request.content_length is None:
        _refuse("The length of the request is missing.", 411)
    elif request.content_length > most_bytes:
        _refuse(too_long, 413)


def _refuse(words: str, status: int) -> None:
    abort(Response(f"{words}\n", status, mimetype="text/plain"))
