"""Which parts on the van would have saved most second visits, as an exhibit."""

from typing import Any

from dash import html
from dash.development.base_component import Component

from analytics.filters import Filters
from analytics.questions.parts_aboard import PartsAboard
from dashboard.address import href, to_calls
from dashboard.components.exhibit import exhibit, keep_csv, keep_png, more_csv, twin
from dashboard.components.table import (
    Cell,
    Table,
    column,
    interval_mark,
    interval_text,
    link,
    nice_scale,
    share_text,
)
from dashboard.words import capital, listed, number, percent

MOST_SINGLE = 20


def aboard_exhibit(filters: Filters, aboard: PartsAboard) -> Component:
    """Return the exhibit; `aboard` as from `Fleet.first_visit`."""
    if not aboard.trips:
        none = "No completed call took a second trip for a part, as far as it is recorded."
        return exhibit("No second trip for a part", html.P(none, className="prose"))
    trips = html.A(number(aboard.trips), href=to_calls(filters, "second_trips"))
    lead: list[Component | str] = [
        "Of ",
        trips,
        f" second trips for a part, those of {number(aboard.known)} whose parts fitted afterwards are known. "
        "Saved: everything fitted afterwards would have been aboard.",
    ]
    tools = [
        keep_png(href("/figure.json", filters, chart="aboard"), "parts-aboard", "parts aboard"),
        keep_csv(href("/export.csv", filters, table="aboard"), "parts aboard"),
    ]
    if aboard.best.is_empty():
        words = html.P("Which parts were fitted afterwards is not recorded for them.", className="prose")
        return exhibit("Parts of second trips are not known", words, lead=lead, tools=tools)
    return exhibit(
        _finding(aboard),
        [
            _best(aboard, filters),
            twin(_single(aboard, filters), "Each part by itself"),
            more_csv(
                "Second trips one by one, with what was fitted and which step saves them (CSV)",
                href("/export.csv", filters, table="second_trips"),
            ),
        ],
        lead=lead,
        tools=tools,
        id="aboard",
    )


def _finding(aboard: PartsAboard) -> str:
    rows = aboard.best.filter(aboard.best["added"] <= 3)
    last = (rows if rows.height else aboard.best[:1]).row(-1, named=True)
    names = [name for each in aboard.best["labels"][: last["step"]] for name in each]
    share = percent(last["share"], aboard.known)
    of = f"{number(last['saved'])} of {number(aboard.known)} second trips"
    return f"With {listed(names)} always aboard, {of} would not have been" + (f" ({share})" if share else "")


def _best(aboard: PartsAboard, filters: Filters) -> Table:
    scale = min(1.0, nice_scale(max(aboard.best["high"].to_list())))
    columns = [
        column("Add to the van"),
        column("Second trips saved so far", "mark", scale=scale, ends=["0%", f"{100 * scale:g}%"]),
        column("Saved so far", "rate"),
        column("Trips", "number"),
        column("95% interval", "number"),
        column("Parts aboard", "number"),
    ]
    rows = [_best_row(row, aboard.known, filters) for row in aboard.best.iter_rows(named=True)]
    return Table("Parts aboard, chosen step by step", columns, rows, layout="marks")


def _best_row(row: dict[str, Any], known: int, filters: Filters) -> list[Cell]:
    enough = bool(percent(row["share"], known))
    name = capital(listed(row["labels"]))
    return [
        link(name, _with(filters, row["parts"]), f"Second trips with {name}"),
        interval_mark(row["share"], row["low"], row["high"]) if enough else "",
        share_text(row["share"], known),
        f"{number(row['saved'])} of {number(known)}",
        interval_text(row["low"], row["high"], known),
        number(row["added"]),
    ]


def _single(aboard: PartsAboard, filters: Filters) -> Table:
    columns = [
        column("Part"),
        column("Fitted on second trips", "number"),
        column("Saved by it alone", "number"),
        column("Share of all", "number"),
        column("95% interval", "number"),
    ]
    rows = [
        [
            link(capital(row["label"]), _with(filters, [row["part"]])),
            number(row["fitted"]),
            number(row["saved"]),
            share_text(row["share"], aboard.known),
            interval_text(row["low"], row["high"], aboard.known),
        ]
        for row in aboard.single.head(MOST_SINGLE).iter_rows(named=True)
    ]
    return Table("Second trips by part fitted afterwards", columns, rows, layout="stack")


def _with(filters: Filters, parts: list[str]) -> str:
    """Address of the second trips on which one of the parts was fitted, on whichever visit."""
    return to_calls(filters.but(parts=tuple(parts)), "second_trips")
