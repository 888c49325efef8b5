"""How new technicians come on, as an exhibit of the page on teaching."""

import polars as pl
from dash import html
from dash.development.base_component import Component

from analytics.questions.new_technicians import NewTechnicians
from dashboard.address import href
from dashboard.components.exhibit import exhibit, keep_csv
from dashboard.components.states import needs
from dashboard.components.taught import CURVE_WORDS, curve_table
from dashboard.pages.view import View
from dashboard.words import counted, number


def come_on(view: View, new: NewTechnicians) -> Component:
    """Return the exhibit."""
    if new.curve.is_empty():
        return exhibit(
            "New technicians", needs("How new technicians come on", "started_on", "technicians"), id="new"
        )
    left = (
        f" Left out: {counted(new.without_start, 'call')} of technicians without a day of starting, "
        f"{number(new.before_start)} closed before it."
    )
    tables: list[Component] = []
    for what in CURVE_WORDS:
        if new.curve.filter(pl.col("what") == what).height:
            tables += [html.H3(CURVE_WORDS[what]), curve_table(new, what)]
    return exhibit(
        _finding(new),
        tables,
        lead="Seen over what was expected of the mix of work at the average of all, known before the "
        "visit. Dot: "
        "the ratio; line: 95% interval over technicians; 1: as everybody. Those who stay are not those who "
        "leave: "
        "a rise with the months may be both." + left,
        tools=[keep_csv(href("/export.csv", view.filters, table="new_technicians"), "new technicians")],
        id="new",
    )


def _finding(new: NewTechnicians) -> str:
    rows = new.curve.filter((pl.col("what") == "came_back") & (pl.col("months") == "0-3"))
    if rows.is_empty():
        return f"{counted(new.new, 'technician')} seen in their first year"
    row = rows.row(0, named=True)
    seen = f"{number(row['happened'])} against {number(row['expected'], 1)}"
    if row["low"] is not None and row["low"] > 1:
        return f"In their first three months {row['ratio']:.2f} times as many come back as expected ({seen})"
    return f"In their first three months no more come back than chance may bring ({seen} expected)"
