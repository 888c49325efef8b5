"""The callback rate by month as an exhibit: chart, finding in words, table twin."""

from datetime import date

import polars as pl
from dash.development.base_component import Component

from analytics.filters import Filters
from dashboard.address import href, last_of_month, to_calls
from dashboard.components.exhibit import chart, exhibit, keep_csv, keep_png, twin
from dashboard.components.table import Table, column, interval_text, link, share_text
from dashboard.figures.months import by_month
from dashboard.words import counted, listed, month, number

NAMED_MONTHS = 3


def month_exhibit(filters: Filters, months: pl.DataFrame) -> Component:
    """Return the exhibit; `months` as from `Fleet.by_month`."""
    finding = month_finding(months)
    figure = by_month(months, lambda first: _target(filters, first, "judged"))
    return exhibit(
        finding,
        [
            chart("months", figure, f"Callback rate by month of closing. {finding}."),
            twin(_table(filters, months)),
        ],
        lead=_lead(months),
        tools=[
            keep_png(
                href("/figure.json", filters, chart="months"), "callback-rate-by-month", "rate by month"
            ),
            keep_csv(href("/export.csv", filters, table="months"), "rate by month"),
        ],
    )


def month_finding(months: pl.DataFrame) -> str:
    """Say in words which months lie outside what chance alone would give."""
    judged = months.filter(pl.col("rate").is_not_null())
    if judged.height < 2:
        return "Too few months to see a course"
    high = judged.filter(pl.col("outside").fill_null(False) & (pl.col("rate") > pl.col("mean")))
    low = judged.filter(pl.col("outside").fill_null(False) & (pl.col("rate") < pl.col("mean")))
    parts = [
        f"{_months(rows)} had {word} returns than chance would give"
        for rows, word in ((high, "more"), (low, "fewer"))
        if rows.height
    ]
    parts += _runs(judged)
    return "; ".join(parts) if parts else "No month differs from the average by more than chance"


def _runs(judged: pl.DataFrame) -> list[str]:
    """Say in words where many months in a row lie on one side of the average."""
    side = (
        pl.when(pl.col("in_run").fill_null(False)).then((pl.col("rate") - pl.col("mean")).sign()).otherwise(0)
    )
    marked = judged.with_columns(side.alias("side")).with_columns(pl.col("side").rle_id().alias("stretch"))
    found = []
    for rows in marked.filter(pl.col("side") != 0).partition_by("stretch", maintain_order=True):
        word = "more" if rows["side"][0] > 0 else "fewer"
        first, last = month(rows["month"][0]), month(rows["month"][-1])
        found.append(f"{rows.height} months in a row, {first} to {last}, had {word} than the average")
    return found


def _months(rows: pl.DataFrame) -> str:
    names = [month(each) for each in rows["month"]]
    return listed(names) if len(names) <= NAMED_MONTHS else f"{len(names)} months"


def _lead(months: pl.DataFrame) -> str:
    words = "Share that came back, by month of closing; grey: what chance alone would give to single months."
    return (
        words + " Hollow: some calls of the month are too soon to say."
        if months["inside_window"].sum()
        else words
    )


def _target(filters: Filters, first: date, subset: str) -> str:
    return to_calls(filters.but(closed_from=first, closed_to=last_of_month(first)), subset)


def _table(filters: Filters, months: pl.DataFrame) -> Table:
    columns = [
        column("Month"),
        column("Rate", "rate"),
        column("Came back", "number"),
        column("Of", "number"),
        column("95% interval", "number"),
        column("Chance alone", "number"),
        column("Too soon", "number"),
    ]
    rows = [
        [
            month(row["month"]) + (" (outside)" if row["outside"] else " (run)" if row["in_run"] else ""),
            share_text(row["rate"], row["denominator"]) if row["denominator"] else "",
            link(
                number(row["numerator"]),
                _target(filters, row["month"], "came_back"),
                f"{counted(row['numerator'], 'return')} in {month(row['month'])}",
            ),
            link(
                number(row["denominator"]),
                _target(filters, row["month"], "judged"),
                f"{counted(row['denominator'], 'call')} in {month(row['month'])}",
            ),
            interval_text(row["low"], row["high"], row["denominator"]),
            interval_text(row["limit_low"], row["limit_high"], row["denominator"]),
            number(row["inside_window"]) if row["inside_window"] else "",
        ]
        for row in months.reverse().iter_rows(named=True)
    ]
    return Table("Callback rate by month of closing, latest first", columns, rows)
