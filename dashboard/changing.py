"""The requests that change records: phrases settled, rows mended, files taken back; and how far they are."""

from collections.abc import Callable
from html import escape
from typing import Protocol

from flask import Flask, Response, jsonify, redirect, request
from werkzeug.wrappers import Response as AnyResponse

from analytics.errors import BadQuestion, ServiceCallError, StoreProblem
from analytics.intake import changing
from analytics.intake.changing import Changing
from dashboard import access
from dashboard.components.changes import DROP, GO_ON, MEND, PROGRESS, ROLE, SETTLE, TAKE_BACK, TRY
from dashboard.deciding import refused
from dashboard.shapes import FORM, check_shape

MOST_BYTES = 1_500_000
MOST_ROWS = 25
NOTHING = "-"
ORDERS = ("", "day first", "month first")


class Changes(Protocol):
    """What changes records, as far as a form minds."""

    def changing(self) -> Changing:
        """Return the queue of changes."""

    def phrase(self, key: str) -> tuple[str, str]:
        """Return field and text of a phrase."""

    def meanings(self, field: str) -> dict[str, str]:
        """Return what a phrase of a field can mean."""


def register(server: Flask, fleet: Changes) -> None:
    """Add the routes; `guard` has checked that what changes something comes from the dashboard itself."""
    actions: dict[str, Callable[[Changes], str]] = {
        SETTLE: _settle,
        MEND: _mend,
        TRY: lambda fleet: _take_back(fleet, changing.TRY),
        TAKE_BACK: lambda fleet: _take_back(fleet, changing.TAKE_BACK),
        GO_ON: _go_on,
        DROP: _drop,
    }

    @server.get(PROGRESS)
    @access.require(ROLE)
    def changes_progress() -> tuple[Response, int]:
        from dashboard.components.bringing import STAGES

        state = fleet.changing().state()
        return jsonify(
            goes_on=state.goes_on, words=STAGES.get(state.stage, "Working"), share=state.share
        ), 200

    def act(path: str) -> AnyResponse:
        check_shape(FORM, MOST_BYTES, "This is too long; mend fewer rows at once.")
        try:
            return redirect(actions[path](fleet), 303)  # so that reloading sends nothing
        except ServiceCallError as error:
            status = 503 if isinstance(error, StoreProblem) else 400
            text = refused(escape(str(error)), "/data", "Back to Data")
            return Response(text, status, mimetype="text/html")

    for path in actions:
        view = access.require(ROLE)(lambda path=path: act(path))
        server.add_url_rule(path, f"change {path}", view, methods=["POST"])


def _settle(fleet: Changes) -> str:
    field, text = fleet.phrase(request.args.get("phrase", ""))
    chosen = request.form.get("code") or request.form.get("chosen", "")
    codes: list[str] | None = [] if chosen == NOTHING else [chosen]
    if request.form.get("undo"):
        codes = None
    elif chosen != NOTHING and chosen not in fleet.meanings(field):
        raise BadQuestion("Choose what the phrase means, or that it means nothing.")
    access.note("settled", f"a phrase of {field}")  # first: no change without its line
    fleet.changing().ask(changing.SETTLE, {"field": field, "text": text, "codes": codes})
    return f"/settle?page={_number(request.args.get('page'), 1)}"


def _mend(fleet: Changes) -> str:
    rows: dict[tuple[int, int], dict[int, str]] = {}
    for name, value in request.form.items():
        parts = name.split(".")
        if len(parts) == 3 and all(part.isdecimal() and len(part) < 10 for part in parts):
            file_id, line, place = map(int, parts)
            rows.setdefault((file_id, line), {})[place] = value.replace("\r\n", "\n")
    if len(rows) > MOST_ROWS:
        raise BadQuestion(f"At most {MOST_ROWS} rows are mended at once.")
    order = request.form.get("order", "")
    if order not in ORDERS:
        raise BadQuestion(f"'{order}' is no order of day and month. It can be day first or month first.")
    asked = [
        [file_id, line, [fields[place] for place in sorted(fields)]]
        for (file_id, line), fields in rows.items()
    ]
    access.note("loaded", f"rows mended: {len(asked)}")
    fleet.changing().ask(changing.MEND, {"rows": asked, "order": order})
    return "/mend"


def _take_back(fleet: Changes, kind: str) -> str:
    file_id, load_id = _number(request.args.get("file")), _number(request.args.get("load"))
    later = request.args.get("later") == "1"
    if not file_id and not load_id:
        raise BadQuestion("Name the file or the load that is to be taken back.")
    values = {"files": [file_id] if file_id else [], "load": load_id or None, "with_later": later}
    what = f"file={file_id}" if file_id else f"load={load_id}"
    if kind == changing.TAKE_BACK:
        access.note("went back", f"taken back: {what.replace('=', ' ')}")
    fleet.changing().ask(kind, values)
    return f"/take-back?{what}"


def _go_on(fleet: Changes) -> str:
    fleet.changing().go_on()
    return "/data"


def _drop(fleet: Changes) -> str:
    fleet.changing().drop()
    return "/data"


def _number(text: str | None, otherwise: int = 0) -> int:
    return int(text) if text and text.isdecimal() and len(text) < 10 else otherwise
