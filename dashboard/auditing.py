"""Who did what, and when: one page and one file, for those who manage."""

from html import escape

import polars as pl
from flask import Flask, Response, request

from analytics.audit import NEWEST
from analytics.doors import Doors
from dashboard import access
from dashboard.components.plain import document
from dashboard.export import BOM, safe_csv

PATH, FILE = "/audit", "/audit.csv"
A_PAGE, A_FILE = 100, 1_000_000
QUESTION = "Who did what, and when?"


def register(server: Flask, doors: Doors) -> None:
    """Add the routes."""

    @server.get(PATH)
    @access.require("manage")
    def audit_page() -> str:
        asked = request.args.get("before", "")
        before = int(asked) if asked.isdecimal() and len(asked) < 18 else NEWEST
        return document(QUESTION, _page(doors.audit.events(before, A_PAGE)))

    @server.get(FILE)
    @access.require("manage")
    def audit_file() -> Response:
        body = BOM + safe_csv(doors.audit.events(most=A_FILE)).encode()
        named = {"Content-Disposition": 'attachment; filename="audit.csv"', "Cache-Control": "no-store"}
        return Response(body, mimetype="text/csv", headers=named)


def _page(events: pl.DataFrame) -> str:
    if events.is_empty():
        return '<p>Nothing yet.</p><p><a href="/data">Back to the data</a></p>'
    cells = ("".join(f"<td>{escape(str(value))}</td>" for value in row[1:]) for row in events.iter_rows())
    rows = "".join(f"<tr>{each}</tr>" for each in cells)
    heads = "".join(f'<th scope="col">{head}</th>' for head in ("When (UTC)", "Who", "What", "About"))
    last = events["number"][-1]
    older = f'<p><a href="{PATH}?before={last}">Earlier</a></p>' if last > 1 else ""
    return (
        "<p>Loads, settlements, decisions, sign-ins and changes to accounts, latest first. Nothing here can "
        f'be changed. <a href="{FILE}">Keep all as CSV</a></p>'
        '<div class="scroll" tabindex="0" role="group" aria-label="Events"><table>'
        f"<thead><tr>{heads}</tr></thead>"
        f'<tbody>{rows}</tbody></table></div>{older}<p><a href="/data">Back to the data</a></p>'
    )
