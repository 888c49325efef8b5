"""What happened, in order of time: one line for each thing recorded."""

from itertools import pairwise
from typing import Any

import polars as pl

from analytics.filters import Filters
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


def timeline(rows: pl.DataFrame, filters: Filters, caption: str, call_id: str = "") -> Table:
    """Return the timeline of a call or unit.

    Parameters
    ----------
    rows : DataFrame
        Columns at, has_time, kind, what, detail, technician, call_id, in order of time.
    filters : Filters
        Carried along in the links.
    caption : str
        What the lines are, named once on its page.
    call_id : str
        The call the page is about; lines of other calls are links to them.
    """
    columns = [
        column("When", "day"),
        column("Step", "kind"),
        column("What"),
        column("Technician", "who"),
        column("Call", "ref"),
    ]
    cells = [_line(row, filters, call_id) for row in rows.iter_rows(named=True)]
    again = [False, *[later[0] == earlier[0] for earlier, later in pairwise(cells)]]
    kinds = [_kind(row, call_id, same) for row, same in zip(rows.iter_rows(named=True), again, strict=True)]
    return Table(f"{caption}, in order of time", columns, cells, layout="timeline", row_kinds=kinds)


def _kind(row: dict[str, Any], call_id: str, again: bool) -> str:
    """Class of a line: its kind, whether it is another call's, whether its moment is the line above's."""
    other = " other" if call_id and row["call_id"] and row["call_id"] != call_id else ""
    return f"kind-{row['kind']}{other}{' again' if again else ''}"


def _line(row: dict[str, Any], filters: Filters, call_id: str) -> list[Cell]:
    what = capital(row["what"] or "")
    other = row["call_id"] if row["call_id"] and row["call_id"] != call_id else ""
    return [
        when(row["at"], row["has_time"]),
        KIND_WORDS.get(row["kind"], row["kind"]),
        noted(what, row["detail"]) if row["detail"] else what,
        row["technician"] or "",
        link(other, to_call(other, filters), f"Call {other}") if other else "",
    ]
