"""What happened, in order of time: one line for each thing recorded."""

from typing import Any

import polars as pl

from dashboard.address import to_call
from dashboard.components.lists import when
from dashboard.components.table import Cell, Table, column, link, noted
from dashboard.words import capital

KIND_WORDS = {
    "installed": "Installed",
    "earlier_call": "Earlier call",
    "opened": "Rang",
    "visit": "Visit",
    "check": "Checked",
    "part": "Fitted",
    "closed": "Closed",
    "filter_change": "Filter changed",
    "follow_up": "Asked afterwards",
    "return": "Rang again",
    "retired": "Replaced or scrapped",
}


def timeline(rows: pl.DataFrame, call_id: str = "") -> Table:
    """Return the timeline of a call or unit.

    Parameters
    ----------
    rows : DataFrame
        Columns at, has_time, kind, what, detail, technician, call_id, in order of time.
    call_id : str
        The call the page is about; lines of other calls are links to them.
    """
    columns = [
        column("When", "day"),
        column("", "kind"),
        column("What"),
        column("Technician"),
        column("Call"),
    ]
    cells = [_line(row, call_id) for row in rows.iter_rows(named=True)]
    for later, earlier in zip(reversed(cells[1:]), reversed(cells[:-1]), strict=True):
        later[0] = "" if later[0] == earlier[0] else later[0]
    kinds = [_kind(row, call_id) for row in rows.iter_rows(named=True)]
    return Table("What happened, in order of time", columns, cells, layout="timeline", row_kinds=kinds)


def _kind(row: dict[str, Any], call_id: str) -> str:
    other = " other" if call_id and row["call_id"] and row["call_id"] != call_id else ""
    return f"kind-{row['kind']}{other}"


def _line(row: dict[str, Any], call_id: str) -> list[Cell]:
    what = capital(row["what"] or "")
    other = row["call_id"] if row["call_id"] and row["call_id"] != call_id else ""
    return [
        when(row["at"], row["has_time"]),
        KIND_WORDS.get(row["kind"], row["kind"]),
        noted(what, row["detail"]) if row["detail"] else what,
        row["technician"] or "",
        link(other, to_call(other), f"Call {other}") if other else "",
    ]
