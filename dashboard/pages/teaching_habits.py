"""How far technicians differ in what they record of checks, as an exhibit of the page on teaching."""

from typing import Any

import polars as pl
from dash import html
from dash.development.base_component import Component

from dashboard.address import href
from dashboard.components.exhibit import exhibit, keep_csv
from dashboard.components.table import Cell, Table, column, interval_mark, link, noted
from dashboard.pages.view import View
from dashboard.words import capital, counted, number, percent

STANDING_WORDS = {
    "differ": "technicians differ by more than chance",
    "alike": "all do much alike: look at the form, or the time there is for it",
    "few": "too few calls to tell",
}


def habits(view: View, found: pl.DataFrame) -> Component | None:
    """Return the exhibit, or None where no check is recorded."""
    if found.is_empty() or not found["calls"].sum():
        return None
    differ = found.filter(pl.col("standing") == "differ").height
    columns = [
        column("Habit, and what follows"),
        column("Not recorded, 95% interval", "mark", scale=1.0, ends=["0%", "100%"]),
        column("Not recorded", "rate"),
        column("Calls", "number"),
        column("Best quarter", "number"),
        column("Spread (logit)", "number"),
        column("Fewer a year", "number"),
    ]
    rows = [_row(view, row) for row in found.iter_rows(named=True)]
    left = counted(found["left_out"].max() or 0, "call")  # type: ignore[arg-type]
    return exhibit(
        f"Technicians differ in {number(differ)} of {counted(found.height, 'habit')} of checking",
        [
            Table("Habits of checking", columns, rows, layout="marks"),
            html.P(html.A("What steps not recorded cost afterwards", href="/wrong-turns"), className="more"),
        ],
        lead="By technicians who record checks on at least half of their visits; not recorded is not the "
        "same as "
        f"not done (up to {left} of the others left out). Best quarter: of the fitted distribution; fewer "
        "a year: "
        "if everybody did as that quarter.",
        tools=[keep_csv(href("/export.csv", view.filters, table="teaching_habits"), "habits")],
        id="habits",
    )


def _row(view: View, row: dict[str, Any]) -> list[Cell]:
    name = link(
        capital(row["label"]), href("/wrong-turns", view.filters), note=STANDING_WORDS[row["standing"]]
    )
    counts = f"{number(row['happened'])} of {number(row['calls'])}"
    share = percent(row["rate"], row["calls"]) if row["rate"] is not None else ""
    if row["spread"] is None:
        return [name, "", share or "too few", counts, "", "", ""]
    limits = f"{percent(row['low'], row['calls'])} to {percent(row['high'], row['calls'])}"
    return [
        name,
        interval_mark(row["rate"], row["low"], row["high"], flagged=row["standing"] == "differ"),
        noted(share, limits),
        counts,
        percent(row["best"], row["calls"]),
        noted(f"{row['spread']:.2f}", f"{row['spread_low']:.2f} to {row['spread_high']:.2f}"),
        noted(number(row["avoided"]), f"{number(row['avoided_low'])} to {number(row['avoided_high'])}"),
    ]
