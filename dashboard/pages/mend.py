"""Mend rows: those set aside, by reason, to be corrected here and loaded again."""

from typing import Any

import polars as pl
from dash import html
from dash.development.base_component import Component

from analytics.intake import changing
from analytics.intake.mending import own_columns, own_fields
from dashboard.address import href
from dashboard.changing import MOST_ROWS, ORDERS
from dashboard.components.answer import Words, answer
from dashboard.components.changes import MEND, ROLE, button, form, problems, progress
from dashboard.components.choice import Choice
from dashboard.components.exhibit import exhibit, keep_csv
from dashboard.components.field import Field
from dashboard.components.lists import pager
from dashboard.components.page import counted_how, evidence, page
from dashboard.components.states import notices
from dashboard.pages.data import explained
from dashboard.pages.view import Content, Page, View
from dashboard.words import capital, counted, number

QUESTION = "Which rows are to be mended?"
MOST_CHARACTERS = 10_000
KEPT_CHARACTERS = 10_000
"""Of a row set aside, all fields together; longer ones were cut, and are mended in the file itself."""


def content(view: View) -> Content:
    """Return the page."""
    state = view.fleet.changing().state()
    reasons = view.fleet.set_aside_reasons()
    reason = view.address.options.get("reason") or None
    if reason not in reasons["reason"].to_list():
        reason = None
    at = view.address.page_number("page")
    rows, total = view.fleet.set_aside(None, (at - 1) * MOST_ROWS, MOST_ROWS, reason=reason)
    all_rows = int(reasons["rows"].sum())
    said: Words = [
        html.Strong(counted(all_rows, "row")),
        " set aside, in no figure until mended." if all_rows else " set aside: nothing is to be mended.",
        *_done(state),
    ]
    return page(
        QUESTION,
        *notices(problems(state, [changing.MEND])),
        answer(said),
        evidence(
            *progress(state, href("/mend", None, reason=reason)),
            *_reasons(reasons, reason),
            *_rows(rows, total, at, reason),
        ),
        counted_how(
            [
                "Only rows in which something was changed are loaded, read as the file they came from was "
                "read. They leave this list; what is still wrong is listed anew, as a mended row.",
                "The mended rows count as a file of their own, which can be taken back on the page Data.",
            ]
        ),
    )


def _done(state: changing.State) -> list[str]:
    last = next((each for each in state.done if each["kind"] == changing.MEND), None)
    if last is None or last["problem"]:
        return []
    said = last["said"]
    left = f", {number(said['set_aside'])} still wrong" if said["set_aside"] else ""
    return [f" Of the {counted(said['rows'], 'row')} mended last, {number(said['loaded'])} loaded{left}."]


def _reasons(reasons: pl.DataFrame, chosen: str | None) -> list[Component]:
    if reasons.is_empty():
        return []
    links: list[Component] = [html.Li(_way("All", None, int(reasons["rows"].sum()), chosen))]
    for reason, rows in reasons.iter_rows():
        links.append(html.Li(_way(capital(reason.replace("_", " ")), reason, rows, chosen)))
    return [exhibit("Why they were set aside", html.Ul(links, className="plain reasons"), id="reasons")]


def _way(words: str, reason: str | None, rows: int, chosen: str | None) -> Component:
    text = f"{words}: {counted(rows, 'row')}"
    return html.Strong(text) if reason == chosen else html.A(text, href=href("/mend", None, reason=reason))


def _rows(rows: pl.DataFrame, total: int, at: int, reason: str | None) -> list[Component]:
    if rows.is_empty():
        return []
    orders = [(each, each or "as the rows show") for each in ORDERS]
    return [
        exhibit(
            f"{counted(total, 'row')} to mend",
            [
                form(
                    MEND,
                    *[_row(row) for row in rows.iter_rows(named=True)],
                    Choice(
                        "order", "order", orders, "", before="Dates such as 03/04/2026 are", layout="block"
                    ),
                    button("Load the mended rows"),
                    named="Mend rows",
                    kind="mend",
                ),
                pager("rows", total, at, lambda n: href("/mend", None, reason=reason, page=n), MOST_ROWS),
            ],
            lead="Correct them here and press the button below; or take the CSV, mend it, bring it.",
            tools=[
                keep_csv(f"/export.csv?table=to_mend&file={file_id}", f"rows to mend of {name}")
                for file_id, name in rows.select("file_id", "file_name").unique(maintain_order=True).rows()
            ],
            id="rows",
        )
    ]


def _row(row: dict[str, Any]) -> Component:
    header, whole = row["header"] or [], list(row["fields"])
    names, fields = own_columns(header), own_fields(header, whole)
    key = f"{row['file_id']}.{row['line']}"
    why = capital(explained(row["reason"], row["column_name"], row["found"]))
    title = html.Legend(f"Line {number(row['line'])} of {row['file_name']}")
    cut = len(whole) and max(map(len, whole)) >= KEPT_CHARACTERS // len(whole)
    if cut or not header:
        return html.Fieldset([title, html.P(why), html.P("It is too long to be mended here; mend the file.")])
    inputs = [
        Field(
            f"row-{key}.{place}".replace(".", "-"),
            f"{key}.{place}",
            names[place] if place < len(names) else "one field too many",
            value,
            most=MOST_CHARACTERS,
            rows=3 if "\n" in value else 1,
        )
        for place, value in enumerate(fields)
    ]
    at_fault = [
        each
        for each, value in zip(inputs, fields, strict=True)
        if row["column_name"] and row["found"] and value == row["found"]
    ]
    rest = [each for each in inputs if each not in at_fault]
    if not at_fault:
        return html.Fieldset([title, html.P(why), html.Div(inputs, className="fields")])
    folded = html.Details(
        [html.Summary(f"The other {counted(len(rest), 'field')}"), html.Div(rest, className="fields")]
    )
    return html.Fieldset([title, html.P(why), html.Div(at_fault, className="fields"), folded])


PAGE: Page = Page(
    "/mend",
    "Mend rows",
    QUESTION,
    content,
    parameters=("reason", "page"),
    filtered=False,
    in_navigation=False,
    newest=True,
    role=ROLE,
)
