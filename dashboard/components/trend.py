"""The callback rate by month or week as an exhibit: chart, finding in words, table twin."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

import polars as pl
from dash.development.base_component import Component

from analytics.filters import Filters
from dashboard.address import href, last_of_month, to_calls
from dashboard.components.exhibit import chart, exhibit, keep_csv, keep_png, twin
from dashboard.components.table import Cell, Table, column, interval_text, link, share_text
from dashboard.figures.months import SAID, by_month
from dashboard.words import capital, counted, listed, number, percent

NAMED_MONTHS = 3


def month_exhibit(
    filters: Filters,
    months: pl.DataFrame,
    period: str = "month",
    kept: str = "months",
    before: Sequence[Component] = (),
    after: Sequence[Component] = (),
) -> Component:
    """Return the exhibit.

    Parameters
    ----------
    filters : Filters
    months : DataFrame
        As from `Fleet.by_month` or `Fleet.rates_over_time`.
    period : str
        "month" or "week", as the first column is named.
    kept : str
        Name under which table and chart are kept.
    before, after : sequence of components
        What stands above the chart and below the table.
    """
    finding = month_finding(months, period)
    figure = by_month(months, lambda first: target(filters, first, "judged", period), period=period)
    options = {} if period == "month" else {"each": period}
    name = f"callback-rate-by-{period}"
    return exhibit(
        finding,
        [
            *before,
            chart("months", figure, f"Callback rate by {period} of closing. {finding}."),
            twin(_table(filters, months, period)),
            *after,
        ],
        lead=_lead(months, period),
        tools=[
            keep_png(href("/figure.json", filters, chart=kept, **options), name, f"rate by {period}"),
            keep_csv(href("/export.csv", filters, table=kept, **options), f"rate by {period}"),
        ],
    )


def month_finding(months: pl.DataFrame, period: str = "month") -> str:
    """Say in words which months, or weeks, lie outside what chance alone would give."""
    judged = months.filter(pl.col("rate").is_not_null())
    if judged.height < 2:
        return f"Too few {period}s to see a course"
    high = judged.filter(pl.col("outside").fill_null(False) & (pl.col("rate") > pl.col("mean")))
    low = judged.filter(pl.col("outside").fill_null(False) & (pl.col("rate") < pl.col("mean")))
    parts = [
        f"{_months(rows, period)} had {word} returns than chance would give"
        for rows, word in ((high, "more"), (low, "fewer"))
        if rows.height
    ]
    parts += _runs(judged, period)
    none = f"No {period} differs from the average by more than chance"
    return capital("; ".join(parts)) if parts else none


def _runs(judged: pl.DataFrame, period: str) -> list[str]:
    """Say in words where many months in a row lie on one side of the average."""
    side = (
        pl.when(pl.col("in_run").fill_null(False)).then((pl.col("rate") - pl.col("mean")).sign()).otherwise(0)
    )
    marked = judged.with_columns(side.alias("side")).with_columns(pl.col("side").rle_id().alias("stretch"))
    found = []
    for rows in marked.filter(pl.col("side") != 0).partition_by("stretch", maintain_order=True):
        word = "more" if rows["side"][0] > 0 else "fewer"
        first, last = SAID[period](rows[period][0]), SAID[period](rows[period][-1])
        found.append(f"{rows.height} {period}s in a row, {first} to {last}, had {word} than the average")
    return found


def _months(rows: pl.DataFrame, period: str) -> str:
    names = [SAID[period](each) for each in rows[period]]
    return listed(names) if len(names) <= NAMED_MONTHS else f"{len(names)} {period}s"


def _lead(months: pl.DataFrame, period: str) -> str:
    alone = f"what chance alone would give to single {period}s"
    words = f"Share that came back, by {period} of closing; grey: {alone}."
    if not months["inside_window"].sum():
        return words
    if "estimate" in months.columns:
        return f"{words} Hollow: estimate, from the calls as far as they have been followed."
    return f"{words} Hollow: some calls of the {period} are too soon to say."


def target(filters: Filters, first: date, subset: str, period: str = "month") -> str:
    """Return the address of the calls behind one month or week."""
    last = last_of_month(first) if period == "month" else first + timedelta(days=6)
    kept = {
        "closed_from": max(first, filters.closed_from or first),
        "closed_to": min(last, filters.closed_to or last),
    }
    return to_calls(filters.but(**kept), subset)


def _table(filters: Filters, months: pl.DataFrame, period: str) -> Table:
    columns = [
        column(period.capitalize()),
        column("Rate", "rate"),
        column("Came back", "number"),
        column("Of", "number"),
        column("95% interval", "number"),
        column("Chance alone", "number"),
        column("Too soon", "number"),
    ]
    rows = [_row(filters, row, period) for row in months.reverse().iter_rows(named=True)]
    return Table(f"Callback rate by {period} of closing, latest first", columns, rows)


def _row(filters: Filters, row: dict[str, Any], period: str) -> list[Cell]:
    first, name = row[period], SAID[period](row[period])
    rate = share_text(row["rate"], row["denominator"]) if row["denominator"] else ""
    limits = interval_text(row["low"], row["high"], row["denominator"])
    if "estimate" in row and row["inside_window"]:
        calls = row["followed"] or 0
        share = percent(row["estimate"], calls) if row["estimate"] is not None else "not yet known"
        rate = share if row["estimate"] is None else f"{share} estimate" if share else "too few"
        limits = interval_text(row["estimate_low"], row["estimate_high"], calls) if calls else ""
    return [
        capital(name) + (" (outside)" if row["outside"] else " (run)" if row["in_run"] else ""),
        rate,
        link(
            number(row["numerator"]),
            target(filters, first, "came_back", period),
            f"{counted(row['numerator'], 'return')} in {name}",
        ),
        link(
            number(row["denominator"]),
            target(filters, first, "judged", period),
            f"{counted(row['denominator'], 'call')} in {name}",
        ),
        limits,
        interval_text(row["limit_low"], row["limit_high"], row["denominator"]),
        number(row["inside_window"]) if row["inside_window"] else "",
    ]
