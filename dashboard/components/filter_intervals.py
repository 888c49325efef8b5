"""After how many months a change costs least, by group of households."""

from collections.abc import Mapping
from typing import Any

import polars as pl
from dash.development.base_component import Component

from analytics.questions.filter_intervals import ALL, FIELDS, FilterIntervals
from dashboard.address import href
from dashboard.components.exhibit import exhibit, keep_csv
from dashboard.components.money import money
from dashboard.components.table import Cell, Table, column, noted
from dashboard.words import as_words, capital, number

NONE_PAYS = "no interval pays"
HOW_INTERVALS = (
    "The interval that costs least: what a planned change costs, and the failures (with their callbacks) "
    "until then, over the months until then. The rate at each age does not fall after the first two weeks; "
    "groups are pulled towards all units, because failures are few. Where the rate does not rise enough, no "
    "interval pays. It holds as far as the age of the filter is the cause."
)


def best_intervals(
    found: FilterIntervals, by: str, by_words: str, labels: pl.DataFrame, options: Mapping[str, str]
) -> Component:
    """Return the exhibit of best intervals.

    Parameters
    ----------
    found : FilterIntervals
        As from `Fleet.filter_intervals`.
    by, by_words : str
        The field to show groups of, and words for it; one that has none shows all units alone.
    labels : DataFrame
        Columns by, group, label.
    options : mapping of str to str
        Prices that stand in the address.
    """
    rows = found.of(ALL)
    if by in FIELDS:
        rows = pl.concat([rows, found.of(by)])
    named = labels.filter(pl.col("by") == by).select("group", "label")
    rows = rows.join(named, on="group", how="left", nulls_equal=True, maintain_order="left")
    columns = [
        column(capital(by_words)), column("Costs least, months", "rate"),
        column("No interval pays", "number"), column("Cost at the best", "number"),
        column("Every 6 months", "number"),
        column("Every 12 months", "number"), column("Never changed", "number"),
    ]  # fmt: skip
    cells = [_row(row) for row in rows.iter_rows(named=True)]
    caption = "Months until a change that cost least in the long run; money per 1,000 units and year"
    return exhibit(
        interval_finding(found),
        Table(caption, columns, cells, layout="stack", caption_shown=True),
        lead="A change costs a filter and a planned change besides, by the prices above. In brackets the "
        "range of 95% of samples of units; how often none paid in them stands beside. Supposes that old "
        "filters cause the difference. Six and twelve months are common practice; the maker's "
        "sheet comes first.",
        tools=[
            keep_csv(
                href("/export.csv", None, table="filter_intervals", **options), "best intervals by group"
            )
        ],
        id="intervals",
    )


def interval_finding(found: FilterIntervals) -> str:
    """Say the best interval of all units, and of how many groups it differs from six months beyond chance."""
    if found.groups.is_empty() or found.groups["cost"][0] is None:
        return "Too few failures to say which interval costs least"
    row = found.groups.row(0, named=True)
    if row["best"] is None:
        return f"At these prices {NONE_PAYS} for all units together{_exceptions(found)}"
    return f"If age is the cause, a change every {row['best']:.0f} months costs least{_range(row)}"


def _exceptions(found: FilterIntervals) -> str:
    pays = found.groups.filter((pl.col("field") != ALL) & pl.col("best_high").is_not_null())
    return f", but for {number(pays.height)} kinds of household" if pays.height else ""


def _range(row: Mapping[str, Any]) -> str:
    if row["best_low"] is None:
        return ""
    high = NONE_PAYS if row["best_high"] is None else f"{row['best_high']:.0f}"
    return f" ({row['best_low']:.0f} to {high})"


def _row(row: Mapping[str, Any]) -> list[Cell]:
    label = (
        "All units" if row["field"] == ALL else as_words(row["group"] or "", row["label"] or "not recorded")
    )
    if row["cost"] is None:
        return [capital(label), "too few failures", *[""] * 5]
    least = NONE_PAYS if row["best"] is None else f"{row['best']:.0f}"
    return [
        capital(label),
        noted(least, f"{_range(row).strip()} {number(row['failures'])} failures".strip()),
        f"{100 * row['none_pays']:.0f}% of samples",
        *[money(row[name]) for name in ("cost", "cost_six", "cost_twelve", "cost_never")],
    ]
