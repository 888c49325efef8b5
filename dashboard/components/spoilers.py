"""What spoils first-time fix, as an exhibit: bars from zero, each opening its calls."""

import polars as pl
from dash import html
from dash.development.base_component import Component

from analytics.filters import Filters
from analytics.rates import Rate
from dashboard.address import href, to_calls
from dashboard.components.exhibit import exhibit, keep_csv, keep_png
from dashboard.components.states import needs
from dashboard.components.table import Table, bar_mark, column, link, share_text
from dashboard.words import capital, number


def spoiler_exhibit(filters: Filters, spoiled: pl.DataFrame, rate: Rate) -> Component | None:
    """Return the exhibit; `spoiled` as from `Fleet.spoiled`, `rate` the first-time fix rate it explains."""
    if rate.name == "closed_without_return":
        return exhibit("First-time fix is not known", needs("First-time fix", "visit_id", "visits"))
    total = int(spoiled["calls"].sum()) if spoiled.height else 0
    if not total:
        return exhibit("Nothing spoiled a first visit", html.P("No call to show.", className="prose"))
    rows = spoiled.filter(pl.col("calls_any") > 0).sort("calls", descending=True)
    first = rows.row(0, named=True)
    scale = float(first["calls"])
    columns = [
        column("What spoiled it"),
        column("Calls", "mark", scale=scale, ends=["0", number(scale)]),
        column("Share", "rate"),
        column("Calls", "number"),
        column("Applies to", "number"),
    ]
    cells = [
        [
            capital(row["label"]),
            bar_mark(row["calls"]),
            share_text(row["calls"] / total, total),
            link(
                number(row["calls"]),
                to_calls(filters, row["subset"]),
                f"{number(row['calls'])} calls: {row['label']}",
            ),
            number(row["calls_any"]),
        ]
        for row in rows.iter_rows(named=True)
    ]
    return exhibit(
        f"What spoils a first visit most: {first['label']}",
        Table(
            "Calls not fixed the first time, by the first reason that applies", columns, cells, layout="marks"
        ),
        lead=[
            "Of the ",
            html.A(number(total), href=to_calls(filters, "not_first_time_fix")),
            " calls not fixed the first time; each is counted under the first reason that applies, and "
            "“applies to” counts every call with that reason.",
        ],
        tools=[
            keep_png(
                href("/figure.json", filters, chart="spoiled"),
                "what-spoils-first-time-fix",
                "what spoils a first visit",
            ),
            keep_csv(href("/export.csv", filters, table="spoiled"), "what spoils a first visit"),
        ],
    )
