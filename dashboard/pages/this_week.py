"""What should we look at this week? Five lists, each row with its reason, to mark and to sort."""

from collections.abc import Callable
from typing import Any, NamedTuple

import polars as pl
from dash import html
from dash.development.base_component import Component

from analytics.hand_sorting import hand_sorting
from analytics.questions.review import Review, open_of
from dashboard.address import href
from dashboard.components.answer import Words, answer
from dashboard.components.attributes import spoken
from dashboard.components.deciding import deciding, review_cell
from dashboard.components.exhibit import exhibit, keep_csv
from dashboard.components.lists import pager
from dashboard.components.page import counted_how, evidence, page
from dashboard.components.people import LISTED_CAN_NOT_SAY
from dashboard.components.sentence import depot_choice, match_choice, window_choice
from dashboard.components.states import needs, notices, state
from dashboard.components.table import Table, column
from dashboard.pages.this_week_rows import (
    COLUMNS,
    RowWords,
    open_matrix,
    row_cells,
    row_name,
    waiting_in_words,
)
from dashboard.pages.view import Content, Page, View
from dashboard.words import counted, day, moment, number, weekday

QUESTION = "What should we look at this week?"
ROWS = {"return": 6}
ROWS_OF_OTHERS = 5

HOW = (
    "Returns: opened since the working day before the last one in the records, that is, the weekday with "
    "records before the last weekday with records; whether or not the window of the repair has passed. How "
    "a return is sorted by hand is kept beside the records and never changes a rate.",
    "Third trips: the third or later visit on one fault, over all calls of its string of returns; a call "
    "without a visit counts as one to come. Listed when a call was opened or a visit made since then. Return "
    "trips to fit a part are calls of their own here.",
    "Open calls: repairs not closed. What they wait for is what the latest visit ended with, or the outcome "
    "written on the call. Their age is counted until the records of their depot end.",
    "No proof seen: repairs closed one or two days before the records end (over a weekend, since the "
    "working day above) without a check “proof of repair” that found no fault, where the customer has not "
    "said either that it works, and has not rung again. It says what was recorded, not what was done.",
    "Groups: those whose returns chance does not explain, within one error budget of 4% a week over all "
    "comparisons; the page Compare shows how. All depots are compared, whatever is chosen above. A mark on a "
    "group is of the week in which its calls end.",
    "What is decided here is kept in a file beside the data, by the numbers of the calls, and stays over "
    "later loads. Every decision is kept, the latest counts.",
)


class Part(NamedTuple):
    """One list: id of its exhibit, parameter of its page, table to export, what a row is, how to read it."""

    id: str
    parameter: str
    table: str
    one: str
    many: str
    lead: str


PARTS = {
    "return": Part(
        "returns", "returns", "this_week_returns", "return", "returns",
        "Each beside the repair it is counted against.",
    ),
    "third_trip": Part(
        "third-trips", "trips", "third_trips", "third trip", "third trips",
        "Three trips or more on one fault, the latest of late: read the whole string before the next one.",
    ),
    "no_proof": Part(
        "no-proof", "proof", "no_proof", "repair", "repairs",
        "Ring up: does it work? No check recorded shows it yet.",
    ),
    "open_call": Part(
        "open-calls", "open", "open_calls", "open call", "open calls", "Oldest first: ring, order or close.",
    ),
    "group": Part(
        "groups", "groups", "worth_a_look", "group", "groups",
        "Most to be gained first: returns above those expected, pulled towards the average.",
    ),
}  # fmt: skip


def content(view: View) -> Content:
    """Return the page."""
    found = view.fleet.this_week(view.filters.but(as_of=None))
    if found.until is None:
        return page(QUESTION, state("Nothing to review", "No call is in the records yet."))
    problem = [f"What was decided can not be shown: {found.problem}"] if found.problem else []
    sheet = evidence(*[_part(view, found, kind) for kind in PARTS], id="one-sheet")
    return page(
        QUESTION,
        notices([LISTED_CAN_NOT_SAY, *problem]),
        _sentence(view),
        answer(_in_words(found), _groups_in_words(found), aside=_since(found)),
        sheet,
        counted_how(HOW, _sorted_as()),
    )


def _sorted_as() -> list[tuple[str, str]]:
    words = hand_sorting()
    return [(f"Sorted as {label}", words.says[code]) for code, label in words.labels.items()]


def _sentence(view: View) -> Component:
    controls: list[Component | str] = [
        depot_choice(view.filters, view.choices),
        "; ",
        window_choice(view.filters),
        " ",
        match_choice(view.filters),
        " counts.",
    ]
    kept = href("", view.filters.but(window_days=30, match="family", depots=())).removeprefix("?")
    return html.Form(html.Div(controls), className="sentence", **spoken("Which calls", keep=kept))


def _in_words(found: Review) -> Words:
    said: Words = []
    for kind in ("return", "third_trip", "no_proof", "open_call"):
        part, rows = PARTS[kind], found.lists[kind]
        words = counted(rows.height, part.one, part.many) + (" to ring up" if kind == "no_proof" else "")
        link = html.A(html.Strong(words) if kind == "return" else words, href=f"#{part.id}")
        said += [link, " since " + weekday(found.since) if kind == "return" else "", ", "]
    open_rows = sum(rows["reviewed_at"].null_count() for rows in found.lists.values())
    left = "nothing is left to review" if not open_rows else f"{number(open_rows)} of all still to review"
    return [*said[:-1], f"; {left}."]


def _groups_in_words(found: Review) -> Words:
    groups = found.lists["group"]
    if groups.is_empty():
        return [
            html.Strong("Nothing to review this week"),
            " among technicians, depots, parts and product families: chance explains the returns of all.",
        ]
    words = counted(groups.height, "group") + (" is" if groups.height == 1 else " are")
    return [html.A(words, href="#groups"), " worth a look: more returns than chance explains."]


def _since(found: Review) -> Words:
    return [
        f"Since {weekday(found.since)}, {day(found.since)}: the working day before the last one in the "
        f"records ({weekday(found.last_day)}, {day(found.last_day)}), which reach to {moment(found.until)}."
    ]


def _part(view: View, found: Review, kind: str) -> Component:
    part, rows = PARTS[kind], found.lists[kind]
    tools = [keep_csv(href("/export.csv", view.filters, table=part.table), part.many)] if rows.height else []
    lead = f"{part.lead} {_looked_through(found)}".strip() if kind == "no_proof" else part.lead
    if rows.is_empty():
        return exhibit(_finding(found, kind), html.P(_none(found, kind), className="prose"), id=part.id)
    body = [*_forms(view, kind, rows), *_tables(view, found, kind, rows)]
    return exhibit(_finding(found, kind), body, lead=lead, tools=tools, id=part.id)


def _looked_through(found: Review) -> str:
    days = day(found.proof_from) + (
        "" if found.proof_from == found.proof_to else f" to {day(found.proof_to)}"
    )
    return f"Of {counted(found.repairs, 'repair')} closed {days}."


def _none(found: Review, kind: str) -> str | Component:
    if kind == "no_proof" and not found.has_checks:
        return needs("Which repairs were proved", "check", "checks")
    return {
        "return": "Nobody rang again.",
        "third_trip": "No fault took a third trip.",
        "no_proof": f"Every repair was seen to work, or came back. {_looked_through(found)}",
        "open_call": "Every call is closed.",
        "group": "Chance explains the returns of every group. Nothing to review this week.",
    }[kind]


def _finding(found: Review, kind: str) -> str:
    rows = found.lists[kind]
    number_of = counted(rows.height, PARTS[kind].one, PARTS[kind].many)
    reviewed = rows.height - rows["reviewed_at"].null_count()
    done = f", {number(reviewed)} reviewed" if reviewed else ""
    if kind == "no_proof":
        return (f"{number_of} to ring up: no proof seen" if rows.height else "No repair to ring up") + done
    if kind == "group":
        return (f"{number_of} beyond chance" if rows.height else "No group beyond chance") + done
    if kind == "open_call" and rows.height:
        old = rows.filter(pl.col("age_days") > 30).height
        return f"{number_of}, {number(old)} of them older than 30 days{done}"
    return (number_of if rows.height else f"No {PARTS[kind].many}") + done


def _forms(view: View, kind: str, rows: pl.DataFrame) -> list[Component]:
    of, _, key = view.address.options.get("mark", "").partition(":")
    chosen = rows.filter(key=key) if of == kind else rows.head(0)
    if chosen.is_empty():
        return []
    row = chosen.row(0, named=True)
    title = f"Review: {row_name(kind, row)}"
    return [deciding(title, kind, row, view.filters, view.fleet.sortings(), view.here())]


def _tables(view: View, found: Review, kind: str, rows: pl.DataFrame) -> list[Component]:
    part, size = PARTS[kind], ROWS.get(kind, ROWS_OF_OTHERS)
    if kind == "open_call":
        rows = open_of(rows, *_waits(view))
    at = min(view.address.page_number(part.parameter), max(1, -(-rows.height // size)))
    shown = rows.slice((at - 1) * size, size)
    words = RowWords(view.filters, view.fleet.labels)
    sortings = view.fleet.sortings()
    cells = [
        [
            *row_cells(kind, row, words),
            review_cell(row, _mark(view, kind, row, at), row_name(kind, row), sortings),
        ]
        for row in shown.iter_rows(named=True)
    ]
    kinds = ["reviewed" if done else "" for done in shown["reviewed_at"].is_not_null()]
    table = Table(
        f"{part.many} to review".capitalize(),
        [*COLUMNS[kind], column("Review")],
        cells,
        layout="stack",
        row_kinds=kinds,
    )
    first = _waiting(view, found.lists[kind], rows) if kind == "open_call" else []
    below = [pager(part.many, rows.height, at, _pages(view, part), size)] if rows.height > size else []
    return [*first, table, *below]


def _waits(view: View) -> tuple[str, str]:
    """Return what the open calls to show wait for and the band of their age; "": any."""
    waits_for, _, band = view.address.options.get("waiting", "").partition(":")
    return waits_for, band


def _waiting(view: View, rows: pl.DataFrame, shown: pl.DataFrame) -> list[Component]:
    """Return the numbers of open calls, and which of the calls stand below."""
    matrix = open_matrix(
        rows,
        lambda waits, band: view.here(waiting=f"{waits}:{band}" if waits or band else None) + "#open-calls",
    )
    chosen = waiting_in_words(*_waits(view))
    if not chosen:
        return [matrix]
    every = html.A("Show all.", href=view.here(waiting=None) + "#open-calls")
    return [
        matrix,
        html.P([f"Below: {counted(shown.height, 'open call')}{chosen}. ", every], className="prose"),
    ]


def _pages(view: View, part: Part) -> Callable[[int], str]:
    kept = {"waiting": view.address.options.get("waiting")} if part is PARTS["open_call"] else {}
    return lambda page: view.here(**kept, **{part.parameter: page}) + f"#{part.id}"


def _mark(view: View, kind: str, row: dict[str, Any], at: int) -> str:
    page = {PARTS[kind].parameter: at if at > 1 else None}
    return view.here(mark=f"{kind}:{row['key']}", **page) + "#deciding"


PARAMETERS = ("mark", "waiting", *(part.parameter for part in PARTS.values()))
PAGE = Page("/this-week", "This week", QUESTION, content, parameters=PARAMETERS, filtered=False)
