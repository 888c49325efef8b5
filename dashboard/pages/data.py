"""What was loaded, and how complete is it? Files, rows set aside, phrases not recognised, recording."""

import polars as pl
from dash import html
from dash.development.base_component import Component

from analytics.intake.reasons import reasons
from dashboard import access
from dashboard.address import href
from dashboard.components.answer import Words, answer
from dashboard.components.bringing import chooser
from dashboard.components.exhibit import exhibit, keep_csv, left_to_csv, twin
from dashboard.components.lists import pager
from dashboard.components.loads import (
    files_table,
    generations_table,
    loads_table,
    phrases_table,
    set_aside_table,
    taken_back_table,
)
from dashboard.components.page import beside, counted_how, evidence, page
from dashboard.components.people import CAN_NOT_SAY
from dashboard.components.recording import recording_table
from dashboard.pages.view import Content, Page, View
from dashboard.words import counted, day, number

QUESTION = "What was loaded, and how complete is it?"
ROWS_A_PAGE = 20
MOST_GROUPS = 60
FIVE_COLUMNS = (
    "Five columns are enough: the call, the unit, the day, what was complained of, what was found. "
    "Each further "
    "one switches on what needs it."
)
RECORDING = "Share of completed calls. Where it differs by more than 10 points, comparisons bend."


def content(view: View) -> Content:
    """Return the page."""
    bringing = chooser(view.fleet.bringing().waiting())
    if not view.fleet.generation():
        said: Words = ["Nothing is loaded yet. Bring a file of service calls; everything else can follow."]
        return page(QUESTION, answer(said), evidence(bringing), counted_how([FIVE_COLUMNS]))
    files = view.fleet.files()
    return page(
        QUESTION,
        answer(_loaded(view), _adds_up(files, view.fleet.set_aside(limit=1)[1])),
        evidence(
            bringing,
            exhibit(
                f"{counted(files.height, 'file')} loaded",
                files_table(files),
                lead="Loaded, updated, repeated and set aside add up to the rows of each file.",
                tools=[keep_csv("/export.csv?table=files", "files loaded")],
            ),
            _loads(view),
            _taken_back(view),
            _set_aside(view),
            _phrases(view),
            _recording(view, "depot", RECORDING),
            _recording(view, "technician", CAN_NOT_SAY),
        ),
        _counting(view),
    )


def _loaded(view: View) -> Words:
    generation = view.fleet.generation()
    ends = [end for end in view.fleet.observation_ends() if not end.depot]
    words: Words = ["Data as loaded on ", html.Strong(day(generation.get("made_at"))), "."]
    return [*words, f" The records end on {day(max(end.ends_at for end in ends))}."] if ends else words


def _adds_up(files: pl.DataFrame, left: int) -> Words:
    sums = files.select(pl.col("rows", "set_aside").sum()).row(0, named=True)
    words: Words = [f"{number(sums['rows'])} rows read"]
    aside = html.A(counted(left, "row"), href="#set-aside")
    return (
        [*words, "; ", aside, " set aside and to be mended, with the reason beside each."]
        if left
        else [*words, "; none set aside." if not sums["set_aside"] else "; all rows set aside were mended."]
    )


def _loads(view: View) -> Component:
    loads, generations = view.fleet.loads(), view.fleet.generations()
    kept = exhibit(
        f"{counted(generations.height, 'generation')} kept",
        generations_table(generations),
        lead=[
            "Each load makes a generation, a whole copy of the data. ",
            html.Code("service-calls go-back"),
            " makes the one before current again.",
        ],
        id="generations",
    )
    shown = loads.head(ROWS_A_PAGE)
    every = exhibit(
        counted(loads.height, "load"),
        [loads_table(shown), *left_to_csv(shown.height, loads.height, "load")],
        lead="Each with the rows of its files together, latest first.",
        tools=[keep_csv("/export.csv?table=loads", "loads")],
        id="loads",
    )
    return beside(kept, every, layout="narrow-wide")


def _taken_back(view: View) -> Component | None:
    files = view.fleet.taken_back()
    if files.is_empty():
        return None
    shown = files.head(ROWS_A_PAGE)
    return exhibit(
        f"{counted(files.height, 'file')} taken back",
        [taken_back_table(shown), *left_to_csv(shown.height, files.height, "file")],
        lead="In no figure any more; bring a file again to have it back.",
        tools=[keep_csv("/export.csv?table=taken_back", "files taken back")],
        id="taken-back",
    )


def _set_aside(view: View) -> Component:
    at = _page_of(view, "aside")
    rows, total = view.fleet.set_aside(None, (at - 1) * ROWS_A_PAGE, ROWS_A_PAGE)
    if not total:
        return exhibit(
            "No row was set aside",
            html.P("Every row was loaded, or known already.", className="prose"),
            id="set-aside",
        )
    if not access.may("settle"):
        return exhibit(
            f"{counted(total, 'row')} set aside",
            html.P("Shown to those who load files: they may hold names.", className="prose"),
            id="set-aside",
        )
    return exhibit(
        f"{counted(total, 'row')} set aside",
        [
            set_aside_table(rows, explained),
            pager(
                "rows set aside",
                total,
                at,
                lambda n: href("/data", None, aside=n) + "#set-aside",
                ROWS_A_PAGE,
            ),
        ],
        lead=["Not in any figure. ", html.A("Mend them", href="/mend"), ", here or as a CSV."],
        tools=[keep_csv("/export.csv?table=set_aside", "rows set aside")],
        id="set-aside",
    )


def explained(reason: str, column: str | None, found: str | None) -> str:
    """Say why a row was set aside, and what to do; a reason of another version stands as its code."""
    known = reasons().get(reason)
    return known.explain(column, found) if known else reason


def _phrases(view: View) -> Component:
    at = _page_of(view, "phrases")
    rows, total = view.fleet.unrecognised(None, (at - 1) * ROWS_A_PAGE, ROWS_A_PAGE)
    if not total:
        return exhibit(
            "Every phrase was recognised", html.P("Nothing to settle.", className="prose"), id="phrases"
        )
    return exhibit(
        f"{counted(total, 'phrase')} not recognised, most frequent first",
        [
            phrases_table(rows),
            pager("phrases", total, at, lambda n: href("/data", None, phrases=n) + "#phrases", ROWS_A_PAGE),
        ],
        lead=[
            "Kept as written, and counted as not recognised in every figure. ",
            html.A("Say what they mean", href="/settle"),
            ".",
        ],
        tools=[keep_csv("/export.csv?table=phrases", "phrases not recognised")],
        id="phrases",
    )


def _page_of(view: View, name: str) -> int:
    return view.address.page_number(name)


def _recording(view: View, by: str, lead: str) -> Component | None:
    shares = view.fleet.recording(by)
    if shares.is_empty():
        return None
    shown = shares.head(MOST_GROUPS)
    table = recording_table(shown, by)
    title = f"What is recorded, by {by}"
    return exhibit(
        title,
        [
            table if by == "depot" else twin(table, f"Show {counted(shown.height, by)}"),
            *left_to_csv(shown.height, shares.height, by),
        ],
        lead=lead,
        tools=[keep_csv(f"/export.csv?table=recording&by={by}", title)],
    )


def _counting(view: View) -> Component:
    ends = [
        (f"{end.source}{', ' + end.depot if end.depot else ''}", f"{day(end.ends_at)} ({end.ends_from})")
        for end in view.fleet.observation_ends()
    ]
    return counted_how(
        [
            "A file is known by its content: loading it again changes nothing. A row replaces another of "
            "the same id only when its file was extracted later.",
            "Each source is watched until the date given below; a depot whose last record is much older has "
            "its own.",
        ],
        [(f"Records of {name} end", value) for name, value in ends],
    )


PAGE = Page(
    "/data",
    "Data",
    QUESTION,
    content,
    parameters=("aside", "phrases"),
    filtered=False,
    without_data=True,
    newest=True,
)
