"""Bringing a file: where it is chosen, what is waiting, what it looks like, and how far the work on it is."""

from collections.abc import Sequence
from urllib.parse import urlencode

from dash import html
from dash.development.base_component import Component

from analytics.intake.bringing import Stage
from analytics.intake.contract import tables
from analytics.intake.uploads import MOST_BYTES, Brought
from dashboard.components.attributes import spoken
from dashboard.components.choice import Choice, Option
from dashboard.components.exhibit import exhibit
from dashboard.components.table import Cell, Table, column, link
from dashboard.words import counted, number

PATH = "/bring"
READ, ANSWER, TRY, KEEP, DROP = (f"{PATH}/{each}" for each in ("read", "answer", "try", "keep", "drop"))
POSTS = (PATH, READ, ANSWER, TRY, KEEP, DROP)
PROGRESS = f"{PATH}/progress"
ROLE = "settle"
"""The role that these requests and the page need."""
MEGABYTE = 1_000_000

STAGES = {
    "": "Starting",
    "unpacking": "Reading the sheet of the workbook",
    "looking": "Looking at how it is written",
    "decoding": "Reading the file",
    "waiting": "Somebody else is loading; waiting for them",
    "copying": "Copying the data as loaded",
    "staging": "Reading the rows",
    "writing": "Sorting the rows into new, changed and known",
    "coding": "Understanding the words",
    "building marts": "Counting calls and returns",
    "checkpoint": "Writing to the disk",
    "pointer": "Making it current",
}
"""What goes on, by the stage that the library names."""


class FileChooser(Component):
    """A form that sends a file as it is, with its progress, drawn by assets/bring.js.

    Parameters
    ----------
    id : str
    to : str
        Path that the file is sent to.
    most : int
        Bytes that a file can have.
    """

    _children_props: list[str] = []  # noqa: RUF012
    _base_nodes = ["children"]  # noqa: RUF012
    _namespace = "dashboard"
    _type = "FileChooser"
    _prop_names = ["id", "to", "most"]  # noqa: RUF012
    _valid_wildcard_attributes: list[str] = []  # noqa: RUF012
    available_properties = _prop_names
    available_wildcard_properties: list[str] = []  # noqa: RUF012

    def __init__(self, id: str, to: str = PATH, most: int = MOST_BYTES) -> None:
        super().__init__(id=id, to=to, most=most)


class WorkGoesOn(Component):
    """How far the work on a file is, asked for every second; when it has ended the page is opened anew.

    Parameters
    ----------
    id : str
    ask : str
        Address that tells how far it is.
    then : str
        Address to open when it has ended.
    words : str
        What goes on now.
    """

    _children_props: list[str] = []  # noqa: RUF012
    _base_nodes = ["children"]  # noqa: RUF012
    _namespace = "dashboard"
    _type = "WorkGoesOn"
    _prop_names = ["id", "ask", "then", "words"]  # noqa: RUF012
    _valid_wildcard_attributes: list[str] = []  # noqa: RUF012
    available_properties = _prop_names
    available_wildcard_properties: list[str] = []  # noqa: RUF012

    def __init__(self, id: str, ask: str, then: str, words: str) -> None:
        super().__init__(id=id, ask=ask, then=then, words=words)


def to_file(token: str, path: str = PATH, **more: str) -> str:
    """Address of one file that was brought."""
    return f"{path}?{urlencode({'file': token, **more})}"


def form(token: str, path: str, *parts: Component, named: str, kind: str = "") -> Component:
    """Return a form that the browser itself sends, about one file."""
    classes = f"decide {kind}".strip()
    return html.Form(
        list(parts), action=to_file(token, path), method="post", className=classes, **spoken(named)
    )


def button(words: str, second: bool = False) -> Component:
    """Return the button that sends a form."""
    return html.Button(words, type="submit", className="second" if second else "first")


def drop_form(token: str, words: str = "Drop this file") -> Component:
    """Return the form that removes a file."""
    return form(token, DROP, button(words, second=True), named=words)


def chooser(waiting: Sequence[Brought]) -> Component:
    """Return the exhibit in which a file is brought."""
    body: list[Component] = [FileChooser("bring-file")]
    if waiting:
        cells: list[list[Cell]] = [
            [link(each.name, to_file(each.token)), size_words(each.size_bytes)] for each in waiting
        ]
        columns = [column("Brought, not loaded yet"), column("Size", "number")]
        body.append(Table("Files that were brought and are neither kept nor dropped", columns, cells))
    return exhibit(
        "Bring a file",
        body,
        lead=(
            f"An export as CSV or XLSX, up to {MOST_BYTES // 10**9} GB: calls, visits, checks, parts, units. "
            "What it holds is shown, and nothing is kept before you say so."
        ),
        id="bring",
    )


def working(stage: Stage) -> Component:
    """Return how far the work on a file is."""
    token = stage.brought.token
    words = STAGES.get(stage.work.get("stage", ""), "Working")
    return exhibit(
        "This takes a moment",
        [
            WorkGoesOn("bring-work", to_file(token, PROGRESS), to_file(token), words),
            drop_form(token, "Stop, and drop it"),
        ],
        lead="You can leave this page and come back to it from Data; the work goes on.",
    )


def looks(stage: Stage) -> Component:
    """Return what a file looks like: how it is written, its first rows."""
    look = stage.look
    written = [
        ("Size", size_words(stage.brought.size_bytes)),
        ("Rows", f"{number(look['rows'])} lines below its header"),
        ("Columns", number(len(look["header"]))),
        ("Written as", f"{encoding_words(look['encoding'])}, columns parted by {look['separator']}"),
    ]
    if stage.brought.is_workbook:
        written[-1] = ("Sheet", look["sheets"][look["sheet"]])
    if look["passed_over"]:
        written.append(("Above the header", f"{counted(look['passed_over'], 'line')} passed over"))
    if look["sampled"]:
        written.append(
            ("Looked at", f"{number(look['sampled'])} rows from all over it; the trial reads every row")
        )
    terms = [part for term, value in written for part in (html.Dt(term), html.Dd(value))]
    rows = Table(
        f"First rows of {stage.brought.name}",
        [column(each or "(no name)") for each in look["header"]],
        look["first_rows"],
    )
    return exhibit("What it looks like", [html.Dl(terms, className="facts"), rows], id="looks")


def size_words(size_bytes: int) -> str:
    """Write a size: in kB below a tenth of a megabyte."""
    small = size_bytes < MEGABYTE / 10
    return f"{number(size_bytes / 1000, 1)} kB" if small else f"{number(size_bytes / MEGABYTE, 1)} MB"


def encoding_words(name: str) -> str:
    """Say how letters are written, as a program that saves such files calls it."""
    return {"cp1252": "Windows-1252", "latin-1": "Latin-1"}.get(name, name.upper().removesuffix("-SIG"))


def which_records(stage: Stage) -> Component:
    """Return which table a file seems to be, with the reason, to be changed."""
    chosen = stage.suggested["table"]
    options: list[Option] = [
        (name, f"{table_words(name)} (one row is {each.about})") for name, each in tables().items()
    ]
    parts: list[Component] = [
        Choice("bring-table", "table", options, chosen, before="Its rows are", layout="block")
    ]
    if len(stage.look.get("sheets", ())) > 1:
        sheets: list[Option] = [(str(nth), name) for nth, name in enumerate(stage.look["sheets"])]
        parts.append(
            Choice("bring-sheet", "sheet", sheets, str(stage.look["sheet"]), before="Sheet", layout="block")
        )
    parts.append(button("Read it as this", second=True))
    return exhibit(
        f"It seems to hold {table_words(chosen)}",
        form(stage.brought.token, READ, *parts, named="Which records it holds", kind="bring-which"),
        lead=f"{stage.suggested['reason']}.".capitalize(),
        id="which",
    )


def table_words(name: str) -> str:
    """Name of a table as people say it."""
    return name.replace("_", " ")
