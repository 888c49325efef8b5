"""By depot or technician, the share of completed calls with something recorded."""

from typing import Any

import polars as pl

from analytics.filters import Filters
from dashboard.address import to_calls
from dashboard.components.table import Cell, Table, column, link, share_text
from dashboard.words import number

RECORDED = {
    "cause": "Cause",
    "outcome": "Outcome",
    "visit": "Visit",
    "check": "Check",
    "reading": "Reading",
    "filter_date": "Filter date",
}


def recording_table(shares: pl.DataFrame, by: str) -> Table:
    """Return one row per depot or technician; `shares` as from `Fleet.recording`."""
    columns = [
        column(by.capitalize()),
        column("Completed calls", "number"),
        *[column(words, "number") for words in RECORDED.values()],
    ]
    rows = [_row(row, by) for row in shares.iter_rows(named=True)]
    return Table(f"Share of completed calls with something recorded, by {by}", columns, rows, layout="wide")


def _share(row: dict[str, Any], name: str, filters: Filters) -> Cell:
    text = share_text(row[f"{name}_share"], row["calls"])
    address = to_calls(filters, f"recorded:{name}")
    return link(text, address, f"{text} with {RECORDED[name].lower()} recorded, {row['label']}")


def _row(row: dict[str, Any], by: str) -> list[Cell]:
    group = row["group"]
    filters = Filters().but(**{f"{by}s": (group or "",)})
    calls = number(row["calls"])
    return [
        row["label"],
        link(calls, to_calls(filters, "completed"), f"{calls} completed calls, {row['label']}"),
        *[_share(row, name, filters) for name in RECORDED],
    ]
