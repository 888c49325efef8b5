"""What if filters were changed by another rule: the finding, a chart, tables, and prices to replace."""

from collections.abc import Mapping
from typing import Any

import polars as pl
from dash import html
from dash.development.base_component import Component

from analytics.questions.filter_policies import PRACTICE_MONTHS, FilterPolicies
from dashboard.address import href
from dashboard.components.assumed import assumed_form, assumed_table, options_of
from dashboard.components.exhibit import chart, exhibit, keep_csv, keep_png, twin
from dashboard.components.money import limits, money
from dashboard.components.table import Cell, Table, column, noted
from dashboard.figures.filter_policies import avoided
from dashboard.words import number

RULES = {"planned": "changed every {} months", "at_visit": "changed at visits when over {} months"}
NOT_SAID = "too few failures to say"
HOW_RULES = (
    "What if: every day that was watched gets the age its filter would have had under the rule, and fails at "
    "the rate of that age for its kind of unit (water supply, shutoff valve, unit age; product families "
    "would make kinds too thin). The first two weeks after a change count against rules that change often. "
    "Rates come from failures with a duration told, raised to the number of all: without one, a filter "
    "changed because of the trouble would seem to bring it. A "
    "plan replaces what customers change; what was changed at visits stays. At visits: what was changed "
    "stays, and more is changed. Intervals draw units anew, 500 times, and leave prices as they stand. "
    "Where customers change filters and nobody records it, old filters are younger than they look: too "
    "little seems to be avoided, and too many filters count as extra. On invented fleets whose truth is "
    "known this said 0.8 of what a change every six months avoids, half too much for three months, and too "
    "little for nine, twelve and at visits: what an interval does not hold."
)


def what_if(found: FilterPolicies, kept: Mapping[str, str | None]) -> Component:
    """Return the exhibit on other rules of changing filters.

    Parameters
    ----------
    found : FilterPolicies
        As from `Fleet.filter_policies`.
    kept : mapping of str to str or None
        The other options of the address.
    """
    prices = [
        assumed_form(None, found.costs, {key: value for key, value in kept.items() if value is not None}),
        twin(
            assumed_table(found.costs, "What failures and filters are taken to cost"),
            "Where the prices come from",
        ),
    ]
    if not found.is_known:
        return exhibit(
            "What if filters were changed sooner? Too few failures to say",
            html.P(
                "That takes at least 20 units, and 5 failures in each band of filter age.", className="prose"
            ),
            id="what-if",
        )
    options = options_of(found.costs)
    shows = "Failures avoided by each rule per 1,000 units and year. The table below has the numbers."
    return exhibit(
        finding(found),
        [
            chart("what-if", avoided(found.rules), shows),
            _rules(found),
            html.P(explained(found), className="prose"),
            twin(_ratios(found), "What the rules rest on"),
            *prices,
        ],
        lead="What if filters were changed sooner? Dot: failures avoided against what was done; line: 95% "
        f"interval. Units now fail {number(found.failures)} times per 1,000 units and year, and "
        f"{number(found.changes)} filters are changed on record. Six and twelve months are common practice; "
        "the maker's sheet comes first.",
        tools=[
            keep_png(
                href("/figure.json", None, chart="filter_policies"),
                "filters-changed-sooner",
                "failures avoided",
            ),
            keep_csv(
                href("/export.csv", None, table="filter_policies", **options), "other rules of changing"
            ),
        ],
        id="what-if",
    )


def finding(found: FilterPolicies) -> str:
    """Say what another rule would do, and whether it pays."""
    best, most = found.best(), found.telling()
    if best:
        saved = f"{money(best['saving'])} per 1,000 units and year"
        return f"If age is the cause, filters {named(best)} would save most at these prices: {saved}"
    if not most:
        return "No other rule of changing filters would avoid failures beyond chance"
    count = number(most["failures_avoided"])
    avoids = f"If age is the cause, filters {named(most)} would avoid {count} failures per 1,000 units a year"
    surely = found.rules["saving_high"].drop_nulls().max()
    pays = (
        "no rule pays" if isinstance(surely, float) and surely < 0 else "whether any rule pays is not certain"
    )
    return f"{avoids}; at these prices {pays}"


def named(row: Mapping[str, Any]) -> str:
    """Name a rule within a sentence."""
    return RULES[row["rule"]].format(row["months"])


def explained(found: FilterPolicies) -> str:
    """Say what would explain the difference away, of the months of the rule spoken of."""
    most = found.telling()
    months = most["months"] if most else PRACTICE_MONTHS
    row = found.ratio_of(months)
    if row["ratio"] is None:
        return f"Past {months} months against before: {NOT_SAID}."
    times = f"{row['ratio']:.2f} ({row['low']:.2f} to {row['high']:.2f}) times"
    start = f"With the kind of unit held equal, past {months} months units fail {times} as often as before. "
    if row["e_value_limit"] == 1:
        return start + "The interval holds 1: chance alone may explain it, and the rule with it."
    way = "often" if row["ratio"] > 1 else "seldom"
    return (
        f"{start}If old filters were not the cause, something else that was not held equal would have to be "
        f"{row['e_value']:.1f} times as frequent among units with old filters, and make units fail "
        f"{row['e_value']:.1f} times as {way} (for the limit nearest 1: {row['e_value_limit']:.1f}). Judge "
        "whether there is such a thing: who changes late may be hard on the unit in other ways."
    )


def _figure(row: dict[str, Any], name: str, decimals: int = 0) -> Cell:
    if row[name] is None:
        return NOT_SAID
    value, low, high = (_plain(row[f"{name}{end}"], decimals) for end in ("", "_low", "_high"))
    return noted(value, f"{low} to {high}")


def _plain(value: float, decimals: int) -> str:
    """Write a number that may be just below nothing: never "-0"."""
    return number(round(value, decimals) + 0.0, decimals)


def _money(row: dict[str, Any]) -> Cell:
    if row["saving"] is None:
        return NOT_SAID
    return noted(money(row["saving"]), limits(row["saving_low"], row["saving_high"]))


def _rules(found: FilterPolicies) -> Table:
    columns = [
        column("Rule"), column("Failures avoided", "rate"), column("Callbacks avoided", "number"),
        column("More filters", "number"), column("Saved less spent (minus: costs more)", "number"),
        column(f"A year, {number(found.units_now)} units", "number"),
    ]  # fmt: skip
    rows: list[list[Cell]] = []
    for row in found.rules.iter_rows(named=True):
        name = named(row)
        whole: Cell = NOT_SAID
        if row["saving"] is not None:
            calls = row["failures_avoided_fleet"] + row["callbacks_avoided_fleet"]
            whole = noted(
                f"{number(calls)} calls avoided",
                f"{number(row['extra_filters_fleet'])} more filters; {money(row['saving_fleet'])} saved "
                "less spent",
            )
        rows.append(
            [
                name[:1].upper() + name[1:],
                _figure(row, "failures_avoided"),
                _figure(row, "callbacks_avoided", 1),
                _figure(row, "extra_filters"),
                _money(row),
                whole,
            ]
        )
    caption = "Other rules of changing filters against what was done, per 1,000 units and year, 95% intervals"
    return Table(caption, columns, rows, layout="stack", caption_shown=True)


def _ratios(found: FilterPolicies) -> Table:
    columns = [
        column("Months"), column("Past them against before", "rate"),
        column("What else would have to be so strong", "number"), column("For the limit nearest 1", "number"),
    ]  # fmt: skip
    rows: list[list[Cell]] = [
        [
            f"{row['months']}",
            noted(f"{row['ratio']:.2f}", f"{row['low']:.2f} to {row['high']:.2f}"),
            f"{row['e_value']:.2f}",
            f"{row['e_value_limit']:.2f}",
        ]
        for row in found.ratios.filter(pl.col("ratio").is_not_null()).iter_rows(named=True)
    ]
    caption = "Failures past some months against before, kind of unit held equal, and E-values"
    return Table(caption, columns, rows, layout="stack")
