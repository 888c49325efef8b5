"""Tables of failures over the time at risk, by the age of the filter."""

from collections.abc import Sequence
from typing import Any

import polars as pl

from analytics.questions.filter_adjusting import Adjusted
from analytics.questions.filter_age import FilterAge
from analytics.questions.filter_failures import PAST_SIX, SUBSET, UP_TO_SIX, at_age
from dashboard.address import href
from dashboard.components.table import Cell, Table, column, link, noted
from dashboard.words import capital, chance_words, number


def rated(row: dict[str, Any], suffix: str = "") -> str:
    """Write a rate with its interval, or that there was no time at risk."""
    if row[f"rate{suffix}"] is None:
        return "not watched"
    return f"{row[f'rate{suffix}']:.1f} ({row[f'low{suffix}']:.1f} to {row[f'high{suffix}']:.1f})"


def ratio_text(row: dict[str, Any]) -> str:
    """Write a ratio with its interval."""
    return _limits(row["ratio"], row["ratio_low"], row["ratio_high"])


def _limits(ratio: float | None, low: float | None, high: float | None) -> str:
    if ratio is None:
        return "not known"
    if low is None or high is None:
        return f"{ratio:.0f}"
    return f"{ratio:.2f} ({low:.2f} to {high:.2f})"


def _rate_cell(row: dict[str, Any], suffix: str = "", only: str | None = None) -> Cell:
    """Return a rate with its failures and months; `only` leads to the failures."""
    if row[f"rate{suffix}"] is None:
        return "not watched"
    failures = number(row[f"failures{suffix}"])
    rate = f"{row[f'rate{suffix}']:.1f}"
    limits = f"{row[f'low{suffix}']:.1f} to {row[f'high{suffix}']:.1f}"
    count = f"{limits}; {failures} in {number(row[f'months{suffix}'])} unit-months"
    if only is None:
        return noted(rate, count)
    return link(
        rate, _to_failures(only), f"{rate} per 1,000 unit-months: open the {failures} failures", count
    )


def _to_failures(only: str) -> str:
    return href("/calls", None, subset=SUBSET, only=only)


def band_table(began: pl.DataFrame, called: pl.DataFrame) -> Table:
    """Return the bands of one kind of failure: the twin of the chart."""
    columns = [
        column("Filter age, months"), column("Units", "number"), column("Per 1,000 unit-months", "rate"),
        column("Against 0–3 months", "number"), column("By age at the call", "number"),
    ]  # fmt: skip
    rows: list[list[Cell]] = [
        [
            capital(one["band"]).replace("-", "–"),
            number(one["units"]),
            _rate_cell(one, only=at_age(one["band"], one["what"])),
            ratio_text(one),
            link(
                rated(other),
                _to_failures(at_age(other["band"], other["what"], "called")),
                f"{rated(other)} per 1,000 unit-months by age at the call: open the failures",
            ),
        ]
        for one, other in zip(began.iter_rows(named=True), called.iter_rows(named=True), strict=True)
    ]
    caption = "Failures per 1,000 unit-months by age of the filter, with 95% intervals"
    return Table(caption, columns, rows, layout="stack")


def across(found: FilterAge) -> list[str]:
    """Return the trend test of each kind of failure, in words, in the order of `FilterAge.past`.

    Chances are corrected for looking at all kinds of failure.
    """
    chances = found.trend_chances()
    whats = found.past.filter(pl.col("months") == "6")["what"]
    trends = {what: found.trends.get(("began", what)) for what in whats}
    return [
        f"{'rising' if each.rises else 'falling'}, {chance_words(chances[what])}" if each else "none"
        for what, each in trends.items()
    ]


def past_table(rows: pl.DataFrame, heading: str, trends: Sequence[str] = ()) -> Table:
    """Return failures up to six months and past, a row a kind of failure or of unit."""
    columns = [
        column(heading), column("Up to six months", "number"), column("Past six months", "number"),
        column("Ratio", "rate"), *([column("Trend over the bands")] if trends else []),
    ]  # fmt: skip
    cells: list[list[Cell]] = [
        [
            capital(row["label"]),
            _rate_cell(row, "_young", _only(row, UP_TO_SIX)),
            _rate_cell(row, "_past", _only(row, PAST_SIX)),
            ratio_text(row),
            *([trends[at]] if trends else []),
        ]
        for at, row in enumerate(rows.iter_rows(named=True))
    ]
    caption = f"Failures per 1,000 unit-months up to six months and past, by {heading.lower()}"
    return Table(caption, columns, cells, layout="stack")


def _only(row: dict[str, Any], span: str) -> str | None:
    """Return what leads to the failures of a row; those by kind of unit have no list of their own."""
    return None if "by" in row else at_age(span, row["what"])


def against(adjusted: Adjusted) -> Table:
    """Return the ratios by band as counted and with the kind of unit held equal."""
    columns = [
        column("Filter age, months"), column("As counted", "number"), column("Within like units", "rate"),
        column("By regression", "number"),
    ]  # fmt: skip
    rows: list[list[Cell]] = [
        [
            row["band"].replace("-", "–"),
            "not known" if row["crude"] is None else f"{row['crude']:.2f}",
            _limits(row["common"], row["common_low"], row["common_high"]),
            _limits(row["model"], row["model_low"], row["model_high"]),
        ]
        for row in adjusted.bands.iter_rows(named=True)
    ]
    caption = "Ratio to filters of 0–3 months, all four kinds of unit held equal"
    return Table(caption, columns, rows, layout="stack", caption_shown=True)
