"""Which calls are behind this number? Any subset of the calls, page by page."""

from typing import Any

from dash import dcc, html
from dash.development.base_component import Component

from analytics.questions.subsets import OF_A_CHECK, SUBSETS
from dashboard.address import href
from dashboard.components.answer import answer
from dashboard.components.attributes import spoken
from dashboard.components.choice import Choice
from dashboard.components.exhibit import exhibit, keep_csv
from dashboard.components.lists import ROWS_A_PAGE, SORTS, calls_table, pager
from dashboard.components.narrowed import narrowed
from dashboard.components.page import counted_how, evidence, page
from dashboard.components.people import about_people
from dashboard.components.sentence import sentence
from dashboard.components.states import no_calls, notices
from dashboard.pages.view import Content, Page, View
from dashboard.words import capital, counted

QUESTION = "Which calls are these?"


def content(view: View) -> Content:
    """Return the page."""
    subset = view.address.one_of("subset", SUBSETS, "all")
    sort = view.address.one_of("sort", SORTS, "closed_at")
    descending = view.address.one_of("order", ("up", "down"), "down") == "down"
    number = view.address.page_number()
    offset = (number - 1) * ROWS_A_PAGE
    checks = view.fleet.labels("checks") if subset in OF_A_CHECK else {}
    check = view.address.one_of("check", checks, "")
    only, of = narrowed(view.address, subset, view.fleet.labels, view.fleet.habit_labels())
    rows, total = view.fleet.calls(view.filters, subset, offset, ROWS_A_PAGE, sort, descending, check, only)
    order = {"subset": subset, "sort": sort, "order": "down" if descending else "up"}
    order |= ({"check": check} if check else {}) | ({"only": only} if only else {})
    of = checks[check] if check else of
    what = f"{SUBSETS[subset]} ({of})" if of else SUBSETS[subset]
    return page(
        QUESTION,
        notices(about_people(view.filters)),
        sentence(view.address, view.choices, view.path),
        answer([html.Strong(counted(total, "call")), f": {what}."]),
        evidence(_list(view, rows, total, number, order, capital(what)))
        if total
        else no_calls(href(view.path, None, subset=subset)),
        _find(view),
        _counting(),
    )


def _list(view: View, rows: Any, total: int, number: int, order: dict[str, str], title: str) -> Component:
    def heading(column: str) -> dict[str, Any]:
        turned = "up" if order["sort"] == column and order["order"] == "down" else "down"
        address = view.here(**order | {"sort": column, "order": turned})
        spoken = "descending" if order["order"] == "down" else "ascending"
        return {"href": address} | ({"sorted": spoken} if order["sort"] == column else {})

    subset = order["subset"]
    return exhibit(
        title,
        [
            _subset_form(view, subset),
            calls_table(rows, view.filters, view.fleet.labels, heading, title),
            pager("calls", total, number, lambda at: view.here(**order, page=at)),
        ],
        tools=[
            keep_csv(
                href(
                    "/export.csv",
                    view.filters,
                    table="calls",
                    subset=subset,
                    check=order.get("check"),
                    only=order.get("only"),
                ),
                "all of these calls",
            )
        ],
    )


def _subset_form(view: View, subset: str) -> Component:
    options = [("" if name == "all" else name, words) for name, words in SUBSETS.items()]
    choice = Choice("choice-subset", "subset", options, "" if subset == "all" else subset, before="Show")
    kept = href("", view.filters).removeprefix("?")
    return html.Form(choice, className="sentence", **spoken("Which of these calls", keep=kept))


def _find(view: View) -> Component:
    field = dcc.Input(id="find-id", name="id", type="text", value="", autoComplete="off")
    label = html.Label(["Open a call by its number ", field], htmlFor="find-id")
    button = html.Button("Open", type="submit")
    return html.Form([label, button], className="find", **spoken("Open a call", path="/call/"))


def _counting() -> Component:
    return counted_how(
        [
            "The list holds the calls behind a number of another page: the same choices, the same "
            "definitions. A call is listed once, whatever its number of visits.",
            "Subsets about checks and first thoughts are read from strings of returns, with 30 days and "
            "the same kind of complaint whatever is chosen; a check made twice on a call is listed once, "
            "and a string stands under its first call.",
            "“Came back after” is the time from closing to the first return counted against the call.",
        ]
    )


PARAMETERS = ("subset", "check", "only", "sort", "order", "page")
PAGE = Page("/calls", "Calls", QUESTION, content, parameters=PARAMETERS)
