"""Files to keep: every table as CSV, every chart as the figure that the browser turns into a picture."""

import json
from collections.abc import Iterator
from typing import Any, Protocol

import polars as pl
from flask import Flask, Response, abort, request, stream_with_context

from analytics.errors import ServiceCallError
from dashboard import access
from dashboard.address import Address

BOM = "\ufeff".encode()
ROLES = {"set_aside": "settle", "to_mend": "settle"}
"""Tables that need more than to look: rows set aside may hold names that could not be masked."""

_RUN_BY_A_SPREADSHEET = r"^([=+\-@\t\r\n])"


class Keepable(Protocol):
    """Where tables and charts come from, by name."""

    tables: tuple[str, ...]
    figures: tuple[str, ...]

    def address(self, search: str) -> Address:
        """Read the query string of a request."""

    def generation(self) -> int:
        """Return the number of the data as loaded."""

    def table(self, name: str, address: Address) -> Iterator[pl.DataFrame]:
        """Return a table in pieces."""

    def opening(self, address: Address) -> list[str]:
        """Return the sentences that a table has to open with."""

    def figure(self, name: str, address: Address) -> dict[str, Any]:
        """Return a chart."""


def register(server: Flask, kept: Keepable) -> None:
    """Add the routes /export.csv and /figure.json to the server."""

    @server.get("/export.csv")
    @access.require("look")
    def export_csv() -> Response:
        name, address = _asked(kept, "table", kept.tables)
        if not access.may(ROLES.get(name, "look")):
            abort(Response("Your account may not keep this table.\n", 403, mimetype="text/plain"))
        named = f'attachment; filename="{name}-{kept.generation()}.csv"'
        body = stream_with_context(_stream(kept.table(name, address), kept.opening(address)))
        return Response(
            body, mimetype="text/csv", headers={"Content-Disposition": named, "Cache-Control": "no-store"}
        )

    @server.get("/figure.json")
    @access.require("look")
    def figure_json() -> Response:
        name, address = _asked(kept, "chart", kept.figures)
        body = json.dumps(kept.figure(name, address), default=str)
        return Response(body, mimetype="application/json", headers={"Cache-Control": "no-store"})


def _asked(kept: Keepable, parameter: str, known: tuple[str, ...]) -> tuple[str, Address]:
    address = kept.address(request.query_string.decode("utf-8", "replace"))
    name = address.options.get(parameter, "")
    if name not in known or address.problems:
        reason = (
            " ".join(address.problems)
            or f"There is no {parameter} of that name. Choose one of {', '.join(known)}."
        )
        abort(Response(reason + "\n", 400, mimetype="text/plain"))
    return name, address


def _stream(frames: Iterator[pl.DataFrame], opening: list[str]) -> Iterator[bytes]:
    yield BOM  # so that a spreadsheet reads the file as UTF-8
    if opening:
        yield safe_csv(pl.DataFrame({"": opening}), header=False).encode()
    try:
        for at, frame in enumerate(frames):
            yield safe_csv(frame, header=at == 0).encode()
    except ServiceCallError as error:
        yield f"\n{error}\n".encode()


def safe_csv(frame: pl.DataFrame, header: bool = True) -> str:
    """Write a frame as CSV that a spreadsheet will not run.

    Text cells that begin with = + - @, tab, carriage return or line feed get an apostrophe before them
    (OWASP, CSV Injection); numbers and dates stay as they are. Lists are joined by "; ". Dates are ISO.

    Parameters
    ----------
    frame : DataFrame
        Any columns.
    header : bool
        Whether to write the header line.
    """
    joined = frame.with_columns(pl.col(pl.List(pl.String)).list.join("; "))
    safe = joined.with_columns(pl.col(pl.String).str.replace(_RUN_BY_A_SPREADSHEET, "'${1}"))
    return safe.write_csv(include_header=header, datetime_format="%Y-%m-%d %H:%M", line_terminator="\r\n")
