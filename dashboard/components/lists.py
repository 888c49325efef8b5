"""Lists of calls and of returns as tables, and the line that pages through them."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import polars as pl
from dash import html
from dash.development.base_component import Component

from analytics.filters import Filters
from dashboard.address import to_call, to_unit
from dashboard.components.attributes import spoken
from dashboard.components.table import Cell, Table, column, link, noted
from dashboard.words import day, days_after, moment, number

Labels = Callable[[str], Mapping[str, str]]

ROWS_A_PAGE = 50


def worded(codes: Sequence[str] | str | None, labels: Mapping[str, str], none: str = "") -> str:
    """Write codes in the words of the catalogue; a code without words stands as it is."""
    if not codes:
        return none
    several = [codes] if isinstance(codes, str) else codes
    return ", ".join(labels.get(code, code) for code in several)


def standing_in_words(standing: str | None, labels: Labels) -> str:
    """Write how a call stands: completed, open, no repair, or the outcome on which no work was done."""
    code = standing or "open"
    return worded(code, {"not_a_repair": "not a repair"} | dict(labels("outcomes")))


def returns_table(rows: pl.DataFrame, filters: Filters, labels: Labels, short: bool = False) -> Table:
    """Return returns, each beside the call it is counted against.

    Parameters
    ----------
    rows : DataFrame
        As from `Fleet.returns`.
    filters : Filters
        Carried along in the links.
    labels : callable
        Field -> labels by code.
    short : bool
        Leave out who went and what was fitted.
    """
    symptoms, causes, parts = labels("symptoms"), labels("causes"), labels("parts")
    columns = [
        column("Came back", "day"),
        column("After", "number"),
        column("Complaint"),
        column("Found then"),
        *([] if short else [column("Parts fitted"), column("Technician")]),
        column("Found on return"),
        *([] if short else [column("Unit")]),
    ]
    cells = [
        _return_row(
            row, filters, symptoms, causes, parts, short, standing_in_words(row["return_standing"], labels)
        )
        for row in rows.iter_rows(named=True)
    ]
    return Table("Returns, latest first", columns, cells, layout="stack")


def _call_link(call_id: str, filters: Filters, text: str, spoken: str = "") -> Cell:
    return link(text, to_call(call_id, filters), f"{spoken}, call {call_id}" if spoken else f"Call {call_id}")


def _unit_link(unit_id: str, filters: Filters) -> Cell:
    return link(unit_id, to_unit(unit_id, filters), f"Unit {unit_id}")


def _return_row(
    row: dict[str, Any],
    filters: Filters,
    symptoms: Mapping[str, str],
    causes: Mapping[str, str],
    parts: Mapping[str, str],
    short: bool,
    standing: str,
) -> list[Cell]:
    came = day(row["return_opened_at"])
    then = worded(row["cause"], causes, "not recorded")
    now = worded(row["return_cause"], causes, "not recorded" if standing == "completed" else standing)
    extra: list[Cell] = [] if short else [worded(row["parts"], parts), row["technician"] or ""]
    return [
        link(
            came, to_call(row["return_call_id"], filters), f"Return of {came}, call {row['return_call_id']}"
        ),
        days_after(row["days_between"]),
        worded(row["symptoms"], symptoms, "not recognised"),
        _call_link(row["call_id"], filters, then, f"{then}, earlier"),
        *extra,
        now,
        *(
            []
            if short
            else [link(row["unit_id"], to_unit(row["unit_id"], filters), f"Unit {row['unit_id']}")]
        ),
    ]


SORTS = ("opened_at", "closed_at", "cause", "technician", "depot", "days_until_return")


def calls_table(
    rows: pl.DataFrame,
    filters: Filters,
    labels: Labels,
    heading: Callable[[str], dict[str, Any]],
    caption: str,
    of_unit: bool = False,
) -> Table:
    """Return calls as a table.

    Parameters
    ----------
    rows : DataFrame
        As from `Fleet.calls`.
    filters : Filters
        Carried along in the links.
    labels : callable
        Field -> labels by code.
    heading : callable
        Name of a column that can be sorted by -> `href` and `sorted` of its heading.
    caption : str
        What the table holds.
    of_unit : bool
        Whether all are calls of one unit; then it is not named in each line.
    """
    symptoms, causes = labels("symptoms"), labels("causes")
    columns = [
        column("Call"),
        column("Opened", "day", **heading("opened_at")),
        column("Closed", "day", **heading("closed_at")),
        column("Complaint"),
        column("What it turned out to be", **heading("cause")),
        column("Technician", **heading("technician")),
        column("Depot", **heading("depot")),
        column("Came back after", "number", **heading("days_until_return")),
        column("Unit"),
    ]
    cells = [
        _call_row(row, filters, symptoms, causes, standing_in_words(row["standing"], labels))
        for row in rows.iter_rows(named=True)
    ]
    if of_unit:
        columns, cells = columns[:-1], [row[:-1] for row in cells]
    return Table(caption, columns, cells, layout="stack")


def _call_row(
    row: dict[str, Any],
    filters: Filters,
    symptoms: Mapping[str, str],
    causes: Mapping[str, str],
    standing: str,
) -> list[Cell]:
    return [
        _call_link(row["call_id"], filters, row["call_id"]),
        day(row["opened_at"]),
        day(row["closed_at"]) or noted("", standing),
        worded(row["symptoms"], symptoms, "not recognised"),
        worded(row["cause"], causes, "not recorded"),
        row["technician"] or "",
        row["depot"] or "",
        days_after(row["days_until_return"]),
        _unit_link(row["unit_id"], filters),
    ]


def pager(
    what: str, total: int, page: int, target: Callable[[int], str], rows_a_page: int = ROWS_A_PAGE
) -> Component:
    """Return the line below a long table of `what`: which rows are shown, and links to its other pages."""
    last = max(1, -(-total // rows_a_page))
    first_row = (page - 1) * rows_a_page + 1
    links: list[Component] = []
    if page > 1:
        links += [html.A("First", href=target(1)), html.A("Earlier page", href=target(page - 1))]
    if page < last:
        links += [html.A("Next page", href=target(page + 1)), html.A("Last", href=target(last))]
    shown = f"{number(first_row)} to {number(min(total, page * rows_a_page))} of {number(total)}"
    return html.Nav([html.Span(shown), *links], className="pages", **spoken(f"Pages of {what}"))


def when(value: Any, has_time: bool | None) -> str:
    """Write a moment of a record, with its time of day where it has one."""
    return moment(value, bool(has_time))
