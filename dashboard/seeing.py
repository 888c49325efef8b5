"""Which records whoever asks sees: with technicians' names, or with codes in their place.

Every route that shows records asks here; nothing else chooses.
"""

from typing import TypeVar

from flask import Flask, Response

from analytics.errors import NotReady
from dashboard import access

LOOKS_AGAIN_S = 15
"""After how many seconds a browser asks again for what was being made."""


Fleet = TypeVar("Fleet")


def for_whom(fleet: Fleet) -> Fleet:
    """Return the fleet as whoever asks may see it.

    Raises
    ------
    NotReady
        When that is with codes, and what they are read from is not there: names are shown to nobody else.
    """
    return fleet if access.sees_names() else fleet.in_codes()  # type: ignore[attr-defined]


def register(server: Flask) -> None:
    """Say in words, on routes beside the pages, that what is asked for is not there yet."""

    @server.errorhandler(NotReady)
    def not_there(error: NotReady) -> Response:
        later = {"Retry-After": str(LOOKS_AGAIN_S)}
        return Response(f"{error}\n", 503, mimetype="text/plain", headers=later)
