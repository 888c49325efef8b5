"""Units with a filter past six months now, by depot and one by one."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import polars as pl
from dash import html
from dash.development.base_component import Component

from analytics.questions.overdue_filters import AHEAD_DAYS
from dashboard.address import href, to_unit
from dashboard.components.exhibit import exhibit, keep_csv
from dashboard.components.lists import pager
from dashboard.components.table import Cell, Table, column, link, noted
from dashboard.words import counted, day, number

ROWS_A_PAGE = 10


@dataclass(frozen=True)
class Shown:
    """Which part of the list is shown, and where its other parts are.

    Parameters
    ----------
    depot : str or None
        Only those of this depot.
    page : int
        Which page of the list, from 1 on.
    target : callable
        Address of the list of a depot (None: all) and page (None: the first).
    """

    depot: str | None
    page: int
    target: Callable[[str | None, int | None], str]


def overdue(depots: pl.DataFrame, rows: pl.DataFrame, total: int, shown: Shown) -> Component:
    """Return the exhibit of overdue filters.

    Parameters
    ----------
    depots : DataFrame
        As from `Fleet.overdue_by_depot`.
    rows : DataFrame
        The page to show, as from `Fleet.overdue_filters`.
    total : int
        Rows of all pages.
    shown : Shown
        What of it is shown.
    """
    if depots.is_empty():
        return exhibit("No filter is known to be past six months", html.P("There is nothing to remind of."))
    where = f" at {shown.depot}" if shown.depot else ""
    return exhibit(
        f"{counted(total, 'unit')}{where} with a filter past six months now",
        [
            _by_depot(depots, lambda name: shown.target(name, None)),
            _list(rows),
            pager("units", total, shown.page, lambda n: shown.target(shown.depot, n), ROWS_A_PAGE),
        ],
        lead=f"By failures expected in the next {AHEAD_DAYS} days if the filter stays: each day at the rate "
        "of its band by then. Without units retired, with no filter, a bypass or reverse osmosis.",
        tools=[
            keep_csv(
                href("/export.csv", None, table="overdue_filters", place=shown.depot), "all of these units"
            )
        ],
        id="overdue",
    )


def _by_depot(depots: pl.DataFrame, target: Callable[[str], str]) -> Table:
    columns = [column("Depot"), column("Units overdue", "number"), column("Failures expected", "number")]
    rows: list[list[Cell]] = [
        [
            link(row["depot"], target(row["depot"]), f"Overdue units of {row['depot']}")
            if row["depot"]
            else "not recorded",
            number(row["units"]),
            number(row["expected"]),
        ]
        for row in depots.iter_rows(named=True)
    ]
    return Table("Filters past six months now, by depot", columns, rows)


def _list(rows: pl.DataFrame) -> Table:
    columns = [
        column("Unit"), column("Depot"), column("Filter since"), column("Months", "number"),
        column("Failures expected", "rate"), column("Calls in the last year", "number"),
    ]  # fmt: skip
    cells: list[list[Cell]] = [
        [
            link(row["unit_id"], to_unit(row["unit_id"]), f"Unit {row['unit_id']}"),
            row["depot"] or "",
            noted(day(row["known_on"]), _since(row)),
            f"{row['age_months']:.1f}",
            "not known" if row["expected"] is None else f"{row['expected']:.2f}",
            number(row["calls_in_a_year"]),
        ]
        for row in rows.iter_rows(named=True)
    ]
    return Table("Units with a filter past six months now", columns, cells, layout="stack")


def _since(row: dict[str, Any]) -> str:
    how = "changed" if row["changed"] else "installed, no change recorded"
    return f"{how}; declined a change on {day(row['declined_on'])}" if row["declined_on"] else how
